// Errors of the room suspect: code, exit, sentence, note.
import { exit } from '../exit.js';
import { countOf } from '../quantity.js';
import { at, type Place, row } from './row.js';

export const suspectErrors = {
  'suspect.size': row<{ image: string; imageBytes: number; readbackBytes: number }>(
    exit.usage,
    (f) =>
      f.readbackBytes < f.imageBytes
        ? `The readback has ${countOf(f.readbackBytes, 'byte')}, fewer than the ${f.imageBytes} of ${f.image}.`
        : `The readback has ${countOf(f.readbackBytes, 'byte')}, and no chip has that many cells.`,
    (f) =>
      `"suspects" needs the whole chip${f.readbackBytes < f.imageBytes ? ' that the image belongs into' : ', whose size is a power of two (2048, 4096, 8192 and so on)'}: dump it without --range.`,
  ),
  'suspect.other-size': row<{ what: string; cells: number; readbackBytes: number }>(
    exit.usage,
    (f) => `${f.what} has ${countOf(f.cells, 'byte')}, and the readback has ${f.readbackBytes}.`,
    () => 'Both must cover the whole chip: dump it without --range, and name the chip that was in the socket.',
  ),
  'suspect.gaps': row<{ path: string; count: number; first: string; last: string }>(
    exit.usage,
    (f) => `${f.path} says nothing of ${countOf(f.count, 'cell')} of the chip, from ${f.first} to ${f.last}.`,
    () =>
      '"suspects" needs the whole chip, since a cell that was not read would count as wrong. Dump it without --range.',
  ),
  'suspect.passes': row<{ firstBytes: number; passBytes: number }>(
    exit.usage,
    (f) => `One pass has ${f.passBytes} bytes and the first has ${f.firstBytes}.`,
    () => 'All passes must be readbacks of the same whole chip.',
  ),
  'suspect.answer': row<{ text: string; column: number; problem: string; right: string }>(
    exit.usage,
    (f) => `The answer cannot be read at character ${f.column}: ${f.problem}.`,
    (f) => f.right,
  ),
  'suspect.observation': row<{ place: Place; problem: string; right: string }>(
    exit.usage,
    (f) => `${at(f.place)}: ${f.problem}.`,
    (f) => f.right,
  ),
};
