// Errors of the room job: code, exit, sentence, note.
import { exit } from '../exit.js';
import { countOf, listText } from '../quantity.js';
import { row } from './row.js';

export interface Refusing {
  readonly chip: string;
  /** The parts that have protection codes, of those that the chip may be: itself, or members of the family that was named. */
  readonly withCodes: readonly string[];
}

const elseLook = 'Otherwise check /WE and the supply.';

/** Why a chip may take no write, and what to do about it. `itself`: what to do where the part that was named has codes. */
const whyRefused = ({ chip, withCodes }: Refusing, itself: string): string => {
  const [one] = withCodes;
  if (one === undefined)
    return `Is ${chip} the part in the socket? One that has protection codes may be protected: "romkiln unprotect --chip <that part>" switches that off. ${elseLook}`;
  if (one === chip) return `It is probably protected: ${itself}. ${elseLook}`;
  return `If it is ${listText(withCodes, 'or')}, it is probably protected: "romkiln unprotect --chip ${one}" switches that off (with the name on the part). ${elseLook}`;
};

export const jobErrors = {
  'job.range-beyond-chip': row<{ to: string; chip: string; last: string }>(
    exit.usage,
    (f) => `The range ends at ${f.to}, but the last cell of ${f.chip} is ${f.last}.`,
    () => 'Give a range inside the chip.',
  ),
  'job.image-beyond-chip': row<{ image: string; address: string; chip: string; last: string }>(
    exit.usage,
    (f) => `${f.image} defines ${f.address}, but the last cell of ${f.chip} is ${f.last}.`,
    () => 'Take a larger chip, or an image that fits; --range burns a part of it.',
  ),
  'job.nothing-defined': row<{ image: string }>(
    exit.usage,
    (f) => `${f.image} defines no byte in this range.`,
    () => 'Choose a range in which the image defines at least one byte.',
  ),
  'job.too-few-registers': row<{ chip: string; lines: number; fitted: number }>(
    exit.refused,
    (f) =>
      `${f.chip} has ${f.lines} address lines, but the writer counted ${f.fitted} address register${f.fitted === 1 ? '' : 's'} of 8 lines.`,
    () => 'Fit another register at the end of the chain (firmware/README.md), or check the chain return.',
  ),
  'job.line-not-driven': row<{ lines: readonly string[] }>(
    exit.refused,
    (f) => `No chip drives ${f.lines.join(', ')}: the writer reads its own charge there.`,
    () => 'Follow that wire from the chip to the writer. "romkiln dump" still reads the other lines.',
  ),
  'job.still-busy': row<Record<never, never>>(
    exit.refused,
    () => 'The chip is not steady: every cell reads differently when it is read again.',
    () =>
      'A chip that never ends its write cycle reads like this. Switch its power off and on, and check its seat and supply.',
  ),
  'job.slow-chip': row<{ chip: string; limitMs: number }>(
    exit.refused,
    (f) => `The chip was still busy ${f.limitMs} ms after a write, longer than ${f.chip} may take.`,
    () =>
      'Read the part number on the chip: is it the part that --chip names? A chip slower than its data sheet is worn out. A bad D7 or D6 wire looks the same: "romkiln rig --empty" and "romkiln rig --reference" test these lines.',
  ),
  'job.changed-beside': row<{ cells: string; lines: readonly string[]; chip: string; keptId: string | null }>(
    exit.refused,
    (f) =>
      f.lines.length > 0
        ? `Cells outside the request changed: ${f.cells}. ${f.lines.join(', ')} make${f.lines.length === 1 ? 's' : ''} no difference there: the chip is smaller than ${f.chip}, or ${f.lines.length === 1 ? 'this line does' : 'these lines do'} not reach it.`
        : `Cells outside the request changed: ${f.cells}.`,
    (f) =>
      f.keptId === null
        ? 'Is --chip the part in the socket? The old contents were not kept, as asked.'
        : `Is --chip the part in the socket? The old contents are kept as ${f.keptId}, under the addresses that were asked for.`,
  ),
  'job.in-doubt': row<{ cells: string; keptId: string | null }>(
    exit.refused,
    (f) => `The burn broke off: ${f.cells} may hold old bytes, new bytes or, after a power loss, anything.`,
    (f) =>
      f.keptId === null
        ? 'Run the same command again; cells that are right are not written twice.'
        : `Run the same command again; cells that are right are not written twice. "romkiln restore ${f.keptId}" writes the old bytes back.`,
  ),
  'job.codes-stored': row<{ chip: string; bytes: number; keptId: string }>(
    exit.refused,
    (f) => `The chip stored the protection codes as data: ${f.bytes} bytes differ from before.`,
    (f) =>
      `Is ${f.chip} the part in the socket, and are its address lines right? "romkiln restore ${f.keptId}" writes the old bytes back.`,
  ),
  'job.refused': row<Refusing & { readonly command: string }>(
    exit.refused,
    () => 'The chip refuses writes: no cell took its new value.',
    (f) =>
      whyRefused(
        f,
        `"romkiln unprotect" switches that off${f.command === 'burn' ? ', "burn --protected" writes it as it is' : ''}`,
      ),
  ),
  'job.not-verified': row<Record<never, never>>(
    exit.refused,
    () => 'Not verified: the chip reads back differently.',
    () =>
      'The differences are listed above. "romkiln suspects" finds out whether the chip, the writer or the wires are to blame.',
  ),
  'job.scratch-refuses': row<Refusing>(
    exit.refused,
    (f) => `${f.chip} took none of the test writes, so the wires could not be tested.`,
    (f) =>
      `${whyRefused(f, '"romkiln unprotect" switches that off')} Or its first page is dead: try another scratch chip.`,
  ),
  'job.restarted-in-check': row<Record<never, never>>(
    exit.refused,
    () => 'The writer restarted during the check, so a write may be incomplete, and the wires could not be tested.',
    () => 'Check the supply, then run the check again.',
  ),
  'job.socket-not-empty': row<Record<never, never>>(
    exit.refused,
    () => 'Something drives the data lines, so the socket is not empty, and the wires could not be tested.',
    () => 'Power off, take the chip out, power on, and run the check again.',
  ),
  'job.not-put-back': row<{ count: number; from: string; to: string; keptId: string }>(
    exit.refused,
    (f) =>
      `${countOf(f.count, 'cell')} ${f.count === 1 ? 'differs' : 'differ'} from before the check: ${f.count === 1 ? f.from : `from ${f.from} to ${f.to}`}.`,
    (f) => `"romkiln restore ${f.keptId}" writes back what was read before, through the wiring as it is now.`,
  ),
  'job.rig-broken-off': row<{ cells: string; keptId: string | null }>(
    exit.refused,
    (f) => `The check broke off before the chip was put back: ${f.cells} may hold test bytes.`,
    (f) =>
      f.keptId === null
        ? 'The old bytes were not kept, as asked.'
        : `"romkiln restore ${f.keptId}" writes the old bytes back.`,
  ),
  'job.unknown-kept': row<{ id: string; near: readonly string[] }>(
    exit.usage,
    (f) => `The keep holds nothing under "${f.id}".`,
    (f) =>
      f.near.length > 0
        ? `Several ids begin like that: ${f.near.join(', ')}. Give more of it.`
        : '"romkiln keep list" shows what it holds.',
  ),
  'job.nothing-to-settle': row<{ id: string; open: readonly string[] }>(
    exit.usage,
    (f) => `No open note of a job that was cut off begins with "${f.id}".`,
    (f) =>
      f.open.length > 0
        ? `Open are ${f.open.slice(0, 8).join(', ')}.`
        : 'None is open: "romkiln book" lists every job.',
  ),
  'job.kept-damaged': row<{ id: string; path: string }>(
    exit.usage,
    (f) => `The kept bytes ${f.id} are damaged: the contents of ${f.path} do not match its name.`,
    () => 'Nothing was written. Look for a copy of that file in a backup.',
  ),
  'job.book-line-missing': row<{ path: string; reason: string }>(
    exit.usage,
    (f) => `This job could not be entered in the book: ${f.path} cannot be written: ${f.reason}.`,
    () => 'The result still holds; only the history of the chip has a gap.',
  ),
};
