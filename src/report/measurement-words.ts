// What to do next to be sure of an explanation, in words.
import type { LineName } from '../chip/wiring-fault.js';
import type { Cause, Explanation } from '../suspect/explanation.js';
import { busWord, listWords, verbFor } from './fault-words.js';
import { addressText, byteText } from './quantity.js';

const levelWords = (level: 0 | 1): [string, string] => (level === 1 ? ['high', 'low'] : ['low', 'high']);

/** "Hold address 0x000, then 0x010, where A4 is high (`romkiln hold 0x000`, `romkiln hold 0x010`)": an address line at both levels. */
export const holdBothLevels = (line: LineName, cells: number): string => {
  const [low, high] = [0, 2 ** Number(line.slice(1))].map((address) => addressText(address, cells));
  return `Hold address ${low}, then ${high}, where ${line} is high (\`romkiln hold ${low}\`, \`romkiln hold ${high}\`)`;
};

const openOrStuck = (line: LineName, cells: number): string =>
  busWord(line) === 'address'
    ? `${holdBothLevels(line, cells)}, and measure ${line} at the writer and at the chip: an open line moves at the writer alone.`
    : `Take the chip out and run \`romkiln rig --empty\`: it finds ${line} if it is stuck; if it finds nothing wrong, the line is open.`;

const moved = (to: readonly number[], letter: string): string[] =>
  to.flatMap((target, i) => (target === i ? [] : [`${letter}${i} at the reader to ${letter}${target}`]));

/** What a cause calls for by itself. */
const stepOfCause = (one: Explanation, cause: Cause, cells: number): string => {
  switch (cause.is) {
    case 'wires':
      return cause.stoppedAt === null && cause.blocksWritten === null
        ? 'Run the rig check with a scratch chip (`romkiln rig --scratch`): it finds stuck and shorted address lines of the writer that burned this chip.'
        : 'Run the rig check (`romkiln rig --empty`, then `romkiln rig --scratch`): it tests the lines of the writer that burned this chip. Mended, burn again: what is right is not written twice.';
    case 'wandering':
      return cause.isSteady
        ? 'Say with `--before` what the chip held (`romkiln keep show <id> -o before.hex`), and run the rig check (`romkiln rig --scratch`): it tests the address lines of the writer.'
        : `Read several passes (\`romkiln dump -o again.bin --passes 4\`): an open line changes between them. Then follow ${cause.line} with a meter.`;
    case 'flickering':
      return `Press the chip into its socket and read again; then follow ${cause.line} with a meter.`;
    case 'moved-lines': {
      const [first] = moved(one.permutation!.address, 'A').concat(moved(one.permutation!.data, 'D'));
      return `Follow ${first ?? 'the lines'} at the other end with a meter, or burn an image with the corrected pin lists.`;
    }
    case 'complement':
      return 'Compare the display or the driver: common anode and active-low lines want the complement.';
    case 'reversed-bits':
      return 'Follow D0 from the chip to the reader with a meter, or look whether the image was made with bit 7 first.';
    case 'blank':
    case 'absent':
      return 'Run `romkiln blank`: its presence test charges the bus to 00 and to FF and sees whether a chip drives it. A burn that a write-protected chip refuses leaves it blank, too: `romkiln unprotect`.';
    case 'smaller-chip':
      return `Read the part number on the chip; a part with ${cause.cells} cells has no pin for A${Math.log2(cause.cells)}.`;
    case 'page-too-large':
      return `Read the part number on the chip and choose that part; its page has ${cause.page} bytes.`;
    case 'pages':
      return `Burn again: only what differs is written. If the same places stay wrong, ${cause.mayBeProtected ? '`romkiln unprotect`, then ' : ''}check the data lines (\`romkiln rig --empty\`: by D6 and D7 a chip says that it is ready), then try another chip.`;
    case 'refusing-cells':
      return `Burn again: only what differs is written. If ${listWords(cause.cells.map((a) => addressText(a, cells)))} ${verbFor(cause.cells.length, 'is', 'are')} wrong once more the chip is worn there: take another one.`;
    case 'another-image':
      return `Compare the chip that should hold ${cause.name} with this image; if it fits, exchange the two.`;
    case 'shifted':
      return 'Look at the start address of the file that was burned, and for a header in front of its bytes.';
    case 'unsteady':
      return cause.many
        ? 'So many cells seldom change by themselves: are all passes readbacks of this one chip (`romkiln dump --passes`)? If they are, look at the contacts of the socket and at the supply (100 nF at the chip).'
        : `Burn ${verbFor(cause.count, 'this cell', 'these cells')} again; if ${verbFor(cause.count, 'it stays', 'they stay')} unsteady, check the supply (100 nF at the chip), then take another chip.`;
  }
};

export const measurementText = (one: Explanation, cells: number): string => {
  const { measurement } = one;
  const rival = 'rival' in measurement && measurement.rival === 'sound' ? 'sound wiring' : 'the other';
  switch (measurement.is) {
    case 'level': {
      const [level, otherwise] = levelWords(measurement.level);
      const address = addressText(measurement.address, cells);
      return `Hold address ${address} (\`romkiln hold ${address}\`) and measure ${measurement.line} at the chip: ${level} speaks for this explanation, ${otherwise} for ${rival}.`;
    }
    case 'byte':
      return `Read a chip that holds ${byteText(measurement.byte)} somewhere: ${byteText(measurement.shows)} speaks for this explanation, ${byteText(measurement.otherwise)} for ${rival}.`;
    case 'open-or-stuck':
      return openOrStuck(measurement.line, cells);
    case 'follow':
      return `Follow ${listWords(measurement.lines)} from the reader to the chip with a meter.`;
    case 'by-cause':
      return stepOfCause(one, one.cause, cells);
  }
};
