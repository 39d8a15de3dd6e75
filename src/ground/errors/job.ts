// Errors of the room job: code, exit, sentence, note.
import { exit } from '../exit.js';
import { row } from './row.js';

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
        : `Run the same command again; what is right is not written twice. What was there is in the keep under ${f.keptId}.`,
  ),
  'job.codes-stored': row<{ chip: string; bytes: number; keptId: string }>(
    exit.refused,
    (f) => `The chip did not take the codes as codes: ${f.bytes} bytes read otherwise than before.`,
    (f) =>
      `Is ${f.chip} the part in the socket, and are its address lines right? "romkiln restore ${f.keptId}" brings the bytes back.`,
  ),
  'job.scratch-refuses': row<{ chip: string }>(
    exit.refused,
    (f) => `${f.chip} took none of the test writes, so nothing is said about wires.`,
    () => 'It is probably protected ("romkiln unprotect"), or /WE does not reach it; another scratch chip would tell.',
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
  'job.book-damaged': row<{ path: string; line: number; column: number }>(
    exit.usage,
    (f) => `${f.path}:${f.line}:${f.column}: this line of the book cannot be read.`,
    () => 'Each line is one JSON object as romkiln writes it; the other lines are still used.',
  ),
};
