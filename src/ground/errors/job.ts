// Errors of the room job: code, exit, sentence, note.
import { exit } from '../exit.js';
import { countOf } from '../quantity.js';
import { row } from './row.js';

export interface Refusing {
  readonly chip: string;
  /** The parts that have protection codes, of those that the chip may be: itself, or members of the family that was named. */
  readonly withCodes: readonly string[];
}

const elseLook = 'Otherwise look at /WE and at the supply.';

/** Why a chip may take no write, and what to do about it. `itself`: what to do where the part that was named has codes. */
const whyRefused = ({ chip, withCodes }: Refusing, itself: string): string => {
  const [one, ...others] = withCodes;
  if (one === undefined)
    return `Is ${chip} the part in the socket? One that has protection codes may be protected: "romkiln unprotect --chip <that part>" switches that off. ${elseLook}`;
  if (one === chip) return `It is probably protected: ${itself}. ${elseLook}`;
  const names = others.length === 0 ? one : `${[one, ...others.slice(0, -1)].join(', ')} or ${others.at(-1)}`;
  return `If it is ${names}, it is probably protected: "romkiln unprotect --chip ${one}" switches that off (with the name on the part). ${elseLook}`;
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
    () => 'An image with at least one defined byte in the range was expected.',
  ),
  'job.too-few-registers': row<{ chip: string; lines: number; fitted: number }>(
    exit.refused,
    (f) =>
      `${f.chip} has ${f.lines} address lines, but the writer counted ${f.fitted} address register${f.fitted === 1 ? '' : 's'} of 8 lines.`,
    () => 'Fit another register at the end of the chain (firmware/README.md), or check the chain return.',
  ),
  'job.line-not-driven': row<{ lines: readonly string[] }>(
    exit.refused,
    (f) =>
      `Nothing drives ${f.lines.join(', ')} between chip and writer: what is read there is the writer's own charge.`,
    () => 'Follow that wire from the chip to the writer. "romkiln dump" reads the other lines all the same.',
  ),
  'job.still-busy': row<Record<never, never>>(
    exit.refused,
    () => 'The chip does not answer steadily: every cell reads otherwise when it is read again.',
    () =>
      'So a chip answers that never ends its write cycle. Take its power off and on again, and look at its seat and its supply.',
  ),
  'job.slow-chip': row<{ chip: string; limitMs: number }>(
    exit.refused,
    (f) =>
      `The chip was still in its write cycle ${f.limitMs} ms after a write, longer than ${f.chip} may take; later it was ready.`,
    () =>
      'Read the part number on the chip: is it the part that --chip names? A chip that is slower than its data sheet is at its end. One whose answer, on D7 or D6, does not come through looks the same: "romkiln rig --empty" and "romkiln rig --reference" test these lines.',
  ),
  'job.changed-beside': row<{ cells: string; lines: readonly string[]; chip: string; keptId: string | null }>(
    exit.refused,
    (f) =>
      f.lines.length > 0
        ? `Changed too, though nobody asked: ${f.cells}. There ${f.lines.join(', ')} make${f.lines.length === 1 ? 's' : ''} no difference: the chip is smaller than ${f.chip}, or ${f.lines.length === 1 ? 'this line does' : 'these lines do'} not reach it.`
        : `Changed too, though nobody asked: ${f.cells}.`,
    (f) =>
      f.keptId === null
        ? 'Is --chip the part in the socket? What was there was not kept, as asked.'
        : `Is --chip the part in the socket? What was there is in the keep under ${f.keptId}: the same cells, by the addresses that were asked for.`,
  ),
  'job.in-doubt': row<{ cells: string; keptId: string | null }>(
    exit.refused,
    (f) =>
      `The writing broke off: ${f.cells} may hold the old bytes, the new ones or, after a loss of supply, anything.`,
    (f) =>
      f.keptId === null
        ? 'Run the same command again; what is right is not written twice.'
        : `Run the same command again; what is right is not written twice. "romkiln restore ${f.keptId}" brings back what was there.`,
  ),
  'job.codes-stored': row<{ chip: string; bytes: number; keptId: string }>(
    exit.refused,
    (f) => `The chip did not take the codes as codes: ${f.bytes} bytes read otherwise than before.`,
    (f) =>
      `Is ${f.chip} the part in the socket, and are its address lines right? "romkiln restore ${f.keptId}" brings the bytes back.`,
  ),
  'job.refused': row<Refusing & { readonly command: string }>(
    exit.refused,
    () => 'The chip refuses writes: no cell took what it was sent.',
    (f) =>
      whyRefused(
        f,
        `"romkiln unprotect" switches that off${f.command === 'burn' ? ', "burn --protected" writes it as it is' : ''}`,
      ),
  ),
  'job.not-verified': row<Record<never, never>>(
    exit.refused,
    () => 'Not verified: the chip does not read what was written.',
    () =>
      'The cells above tell where: "romkiln suspects" finds out whether the chip, the writer or the wires are to blame.',
  ),
  'job.scratch-refuses': row<Refusing>(
    exit.refused,
    (f) => `${f.chip} took none of the test writes, so nothing is said about wires.`,
    (f) =>
      `${whyRefused(f, '"romkiln unprotect" switches that off')} Or its first page is dead: try another scratch chip.`,
  ),
  'job.restarted-in-check': row<Record<never, never>>(
    exit.refused,
    () =>
      'The writer restarted during the check, so that a write may not have come to its end: nothing is said about wires.',
    () => 'Look at the supply, then run the check again.',
  ),
  'job.socket-not-empty': row<Record<never, never>>(
    exit.refused,
    () => 'Something drives the data lines, so the socket is not empty, and nothing is said about wires.',
    () => 'Power off, take the chip out, power on, and run the check again.',
  ),
  'job.not-put-back': row<{ count: number; from: string; to: string; keptId: string }>(
    exit.refused,
    (f) =>
      `${countOf(f.count, 'cell')} ${f.count === 1 ? 'does' : 'do'} not read as before the check: ${f.count === 1 ? f.from : `from ${f.from} to ${f.to}`}.`,
    (f) => `"romkiln restore ${f.keptId}" writes back what they read before, through the wiring as it is now.`,
  ),
  'job.rig-broken-off': row<{ cells: string; keptId: string }>(
    exit.refused,
    (f) => `The check broke off before the chip was put back: ${f.cells} may hold test bytes.`,
    (f) => `"romkiln restore ${f.keptId}" writes back what was there.`,
  ),
  'job.unknown-kept': row<{ id: string; near: readonly string[] }>(
    exit.usage,
    (f) => `The keep holds nothing under "${f.id}".`,
    (f) =>
      f.near.length > 0
        ? `It begins like ${f.near.join(', ')}; give enough of it to be the only one.`
        : '"romkiln keep list" shows what it holds.',
  ),
  'job.kept-damaged': row<{ id: string; path: string }>(
    exit.usage,
    (f) => `What the keep holds under ${f.id} is damaged: ${f.path} does not have the content its name promises.`,
    () => 'Nothing was written. Look for a copy of that file in a backup.',
  ),
  'job.book-line-missing': row<{ path: string; reason: string }>(
    exit.usage,
    (f) => `The line of this job is missing in the book: ${f.path} cannot be written: ${f.reason}.`,
    () => 'What is said of the chip holds all the same; only its history has a gap now.',
  ),
  'job.book-damaged': row<{ path: string; line: number; column: number }>(
    exit.usage,
    (f) => `${f.path}:${f.line}:${f.column}: this line of the book cannot be read.`,
    () => 'Each line is one JSON object as romkiln writes it; the other lines are still used.',
  ),
};
