// Errors of the room suspect: code, exit, sentence, note.
import { exit } from '../exit.js';
import { row } from './row.js';

export const suspectErrors = {
  'suspect.size': row<{ image: string; imageBytes: number; readbackBytes: number }>(
    exit.usage,
    (f) => `The readback has ${f.readbackBytes} bytes and the image ${f.image} has ${f.imageBytes}.`,
    () => 'A readback to be judged is the whole chip, a power of two of bytes, and the image is no longer than it.',
  ),
};
