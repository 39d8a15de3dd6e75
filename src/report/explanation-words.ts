// One explanation of a readback in words: what is wrong, what speaks for it, and what to do next.
import type { WiringFault } from '../chip/wiring-fault.js';
import type { Cause, Explanation, Permutation, Stretch } from '../suspect/explanation.js';
import { busWord, faultsWords, faultWords, listWords, sentence, verbFor } from './fault-words.js';
import { measurementText } from './measurement-words.js';
import { addressText, byteText, countOf } from './quantity.js';

/** What explanations, and suspicions beside them, have in common. */
type Suspected = Pick<Explanation, 'kind' | 'cause' | 'faults' | 'permutation'>;

type CauseOf<Is extends Cause['is']> = Extract<Cause, { readonly is: Is }>;

/** What reads alike is said with each fault of a pair; alone it is an explanation of its own. */
const orOpen = (fault: WiringFault): string =>
  fault.kind === 'stuck' ? ` or open and ${busWord(fault.line) === 'address' ? 'floats' : 'charged'} so` : '';

const wiresText = ({ faults }: Suspected, cause: CauseOf<'wires'>, cells: number): string => {
  const [fault, ...more] = faults;
  if (more.length > 0) return sentence(faultsWords(faults, orOpen));
  const plural = 'lines' in fault!;
  const stopped = cause.stoppedAt === null ? '' : `; the burn stopped at ${addressText(cause.stoppedAt, cells)}`;
  const patches =
    cause.blocksWritten === null
      ? ''
      : `; only ${countOf(cause.blocksWritten, 'block')} of the burn ${verbFor(cause.blocksWritten, 'was', 'were')} written`;
  switch (cause.when) {
    case 'reading':
      return sentence(faultWords(fault!, 'is', cause.level));
    case 'both':
      return sentence(
        `${faultWords(fault!)}, and already ${plural ? 'were' : 'was'} during the burn${stopped}${patches}`,
      );
    case 'burning':
      return sentence(
        `${faultWords(fault!, 'was')} during the burn and ${plural ? 'are' : 'is'} sound now${stopped}${patches}`,
      );
  }
};

const stretchText = ({ from, to }: Stretch, cells: number): string =>
  from === to ? addressText(from, cells) : `${addressText(from, cells)}..${addressText(to, cells)}`;

const namedMost = 4;

const some = (words: readonly string[]): string =>
  words.length <= namedMost
    ? listWords(words)
    : `${words.slice(0, namedMost - 1).join(', ')} and ${words.length - namedMost + 1} more`;

/** Without a part nobody knows its pages: the size is that of what differs. */
const pageNoun = ({ size, isPartsPage }: CauseOf<'pages'>): string =>
  size === 1 ? 'cell' : isPartsPage ? 'page' : 'block';

const pagesText = (cause: CauseOf<'pages'>, cells: number): string => {
  const { missing, missingCount, moved, isErased } = cause;
  const noun = pageNoun(cause);
  const [was, holds] =
    missingCount === 1
      ? ['was', isErased ? 'reads FF' : 'holds what it held before']
      : ['were', isErased ? 'read FF' : 'hold what they held before'];
  const parts = [
    missingCount > 0
      ? `${countOf(missingCount, noun)} ${was} never written and ${holds}: ${some(missing.map((m) => stretchText(m, cells)))}`
      : '',
    moved.length > 0
      ? `${countOf(moved.length, noun)} ${verbFor(moved.length, 'holds', 'hold')} the bytes of another: ${some(
          moved.map((m) => `${stretchText(m.at, cells)} holds ${stretchText(m.holds, cells)}`),
        )}`
      : '',
  ];
  return sentence(parts.filter((words) => words !== '').join('; '));
};

const refusingText = ({ cells: refusing, left }: CauseOf<'refusing-cells'>, cells: number): string => {
  const isOne = refusing.length === 1;
  const wasLeft = left.length === 1 && left[0]!.from === left[0]!.to ? 'was' : 'were';
  return `${isOne ? 'Cell' : 'Cells'} ${listWords(refusing.map((a) => addressText(a, cells)))} did not take ${isOne ? 'its byte' : 'their bytes'}, which ended ${isOne ? 'its line' : 'their lines'} of the burn: ${some(left.map((l) => stretchText(l, cells)))} ${wasLeft} not written any more.`;
};

const isReversed = (to: readonly number[]): boolean => to.every((target, i) => target === to.length - 1 - i);

const movedLines = (to: readonly number[], letter: string): string[] =>
  to.flatMap((target, i) => (target === i ? [] : [`${letter}${i} to ${letter}${target}`]));

const permutationText = (p: Permutation): string => {
  const address = isReversed(p.address) ? ['all address lines in reverse order'] : movedLines(p.address, 'A');
  const data = isReversed(p.data) ? ['all data lines in reverse order'] : movedLines(p.data, 'D');
  const words = [
    address.length > 0 ? `from reader to chip ${address.join(', ')}` : '',
    data.length > 0 ? `from chip to reader ${data.join(', ')}` : '',
  ].filter((part) => part !== '');
  return `Lines have changed places: ${words.join('; ')}.`;
};

/** "Address line A3 is stuck low." */
export const causeText = (one: Suspected, cells: number): string => {
  const { cause } = one;
  switch (cause.is) {
    case 'wires':
      return wiresText(one, cause, cells);
    case 'wandering': {
      const { line, low, high } = cause;
      const each = `each byte is the one for ${line} low or the one for ${line} high`;
      return cause.isSteady
        ? `Address line ${line} is open or stuck: ${each}, nearly all of them the one for ${line} ${low < high ? 'high' : 'low'}.`
        : `Address line ${line} is open and wanders: ${each}.`;
    }
    case 'flickering':
      return `Data line ${cause.line} is open or has a bad contact: it reads differently from pass to pass, and all other lines read as wanted.`;
    case 'moved-lines':
      return one.kind === 'crossed' ? sentence(faultsWords(one.faults)) : permutationText(one.permutation!);
    case 'complement':
      return 'Every byte is the complement of the wanted one: the polarity of all outputs is mistaken.';
    case 'reversed-bits':
      return 'The bits of every byte are in reverse order: D0 and D7, D1 and D6, D2 and D5, D3 and D4 have changed places.';
    case 'blank':
      return cause.line === null
        ? 'The chip is blank: it was never burned, or was erased.'
        : `The chip is blank, and data line ${cause.line} is stuck low.`;
    case 'absent':
      return `No chip drives the bus, which stays at ${byteText(cause.byte)}: the socket is empty, the chip has no supply or is turned, or /CE or /OE does not reach it.`;
    case 'smaller-chip':
      return cause.holds === 'last'
        ? `The chip has only ${cause.cells} cells: higher addresses wrapped during the burn, and the bytes burned last stayed.`
        : `The chip has only ${cause.cells} cells and holds the first ${cause.cells} cells of the image; higher addresses read them again.`;
    case 'page-too-large':
      return `Blocks of ${cause.block} bytes were burned into a part with pages of ${cause.page}: of each block only the page named ${cause.kept} was written, with the bytes loaded last.`;
    case 'pages':
      return pagesText(cause, cells);
    case 'refusing-cells':
      return refusingText(cause, cells);
    case 'another-image':
      return `The chip holds the image ${cause.name} of the same set: chips or sockets are exchanged.`;
    case 'shifted': {
      const sits = `The image sits ${countOf(Math.abs(cause.by), 'byte')} too ${cause.by > 0 ? 'high' : 'low'}`;
      return cause.edge === 'wrapped'
        ? `${sits}, and what left at one end came in at the other.`
        : `${sits}, and FF came in at the edge.`;
    }
    case 'unsteady':
      return `${countOf(cause.count, 'cell')} ${verbFor(cause.count, 'reads', 'read')} differently from pass to pass, first ${addressText(cause.first, cells)}; ${verbFor(cause.count, 'it', 'each')} was right at least once.`;
  }
};

/** How many other permutations fit. */
const ambiguityText = ({ count, countIsExact, exchangeable }: CauseOf<'moved-lines'>): string => {
  if (count === 1 && countIsExact)
    return 'No other permutation of the 8 data lines and the address lines reproduces the readback.';
  const fit = `${countIsExact ? '' : 'At least '}${countOf(count, 'permutation')} ${verbFor(count, 'fits', 'fit')}`;
  if (exchangeable.length === 0) return `${fit}: the undefined cells leave room for others.`;
  return `${fit} equally well: this image does not tell apart ${exchangeable.map((group) => listWords(group)).join('; nor ')}.`;
};

const everywhere = (byte: number, cells: number): string => `All ${countOf(cells, 'cell')} read ${byteText(byte)}.`;

const burnGrounds = ({ when, stoppedAt, blocksWritten }: CauseOf<'wires'>): string[] => {
  if (when === 'reading') return [];
  if (stoppedAt !== null)
    return [
      'What the burn did not reach is no evidence on any line; what it wrote is. Its last lines, and its line in `romkiln book`, say what was tried.',
    ];
  return blocksWritten === null
    ? ['Cells that two addresses share hold the byte burned last; cells that none reached hold what was there before.']
    : ['What was not written is no evidence on any line; what was written is, and so is what an erased cell reads.'];
};

/** What speaks for the cause itself. */
const causeGrounds = ({ cause }: Suspected, cells: number): string[] => {
  switch (cause.is) {
    case 'wires':
      return burnGrounds(cause);
    case 'wandering':
      return cause.isSteady
        ? [
            `Of the bytes that tell, ${cause.high} are the one for ${cause.line} high and ${cause.low} the one for ${cause.line} low. So reads a chip that did not hold FF everywhere and was burned through this line: what was right already was not written.`,
          ]
        : [
            `Of the bytes that tell, ${cause.right} came with the right level of ${cause.line} and ${cause.wrong} with the wrong one.`,
          ];
    case 'flickering':
      return [
        `${countOf(cause.addresses, 'address', 'addresses')} changed between passes, always in ${cause.line} alone.`,
      ];
    case 'moved-lines':
      return [ambiguityText(cause)];
    case 'blank':
      return [everywhere(cause.byte, cells)];
    case 'absent':
      return [
        everywhere(cause.byte, cells),
        ...(cause.isShown ? ['In the presence test all eight data lines followed the charge.'] : []),
      ];
    case 'smaller-chip':
      return [`The readback repeats every ${addressText(cause.cells, cells)} addresses.`];
    case 'page-too-large':
      return [
        `In every block of ${cause.block} bytes one page of ${cause.page} holds the block's last bytes, and the rest was not written.`,
      ];
    case 'pages': {
      const noun = pageNoun(cause);
      const whole = `Every ${noun} that differs is accounted for as a whole${cause.size === 1 ? '' : ` (${noun}s of ${cause.size} bytes)`}.`;
      return cause.stoppedAt === null
        ? [whole]
        : [
            whole,
            `Nothing from ${addressText(cause.stoppedAt, cells)} up was written, as where a burn stops early: its last lines, and its line in \`romkiln book\`, say what was tried.`,
          ];
    }
    case 'refusing-cells':
      return [
        `What ${verbFor(cause.cells.length, 'it read', 'they read')} is taken as it is; what was left out ${cause.isErased ? 'reads FF' : 'holds what it held before'}.`,
      ];
    case 'unsteady':
      return ['All cells that read the same in every pass are as wanted.'];
    default:
      return [];
  }
};

/** What an explanation accounts for, and apart from that what it leaves to cells that the image does not define. */
const fitTexts = ({ explains, elsewhere, silent, unexplained }: Explanation, differing: number): string[] => {
  const rest = unexplained.length === 0 ? ' and contradicts none' : `, and leaves ${unexplained.length} unexplained`;
  const texts = [
    `It accounts for ${explains} of ${countOf(differing, 'differing address', 'differing addresses')}${rest}.`,
  ];
  if (silent.length > 0)
    texts.push(`It says nothing of ${silent.length} of them, which by it read cells that the image does not define.`);
  if (silent.length > 0 && elsewhere > 0)
    texts.push(
      `${countOf(elsewhere, 'address', 'addresses')} that the image does not define ${verbFor(elsewhere, 'reads', 'read')} as the image has it where by this explanation ${verbFor(elsewhere, 'it reads', 'they read')}.`,
    );
  return texts;
};

/** An explanation said: the cause, the grounds for it, and what to do next. */
export interface SaidExplanation {
  readonly text: string;
  readonly evidence: readonly string[];
  readonly nextMeasurement: string;
}

export const explanationWords = (one: Explanation, cells: number, differing: number): SaidExplanation => ({
  text: causeText(one, cells),
  evidence: [...fitTexts(one, differing), ...causeGrounds(one, cells)],
  nextMeasurement: measurementText(one, cells),
});
