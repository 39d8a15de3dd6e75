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
    (f) => `${f.chip} has ${f.lines} address lines, but the writer counted ${f.fitted} address register${f.fitted === 1 ? '' : 's'} of 8 lines.`,
    () => 'Fit another register at the end of the chain (firmware/README.md), or check the chain return.',
  ),
  'job.unknown-kept': row<{ id: string; near: readonly string[] }>(
    exit.usage,
    (f) => `The keep holds nothing under "${f.id}".`,
    (f) => (f.near.length > 0 ? `It begins like ${f.near.join(', ')}; give enough of it to be the only one.` : '"romkiln keep list" shows what it holds.'),
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
