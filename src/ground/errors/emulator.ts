// Errors of the room emulator: code, exit, sentence, note.
import { printable } from '../byte-text.js';
import { exit } from '../exit.js';
import { row } from './row.js';

const short = (text: string): string => printable(text.length > 120 ? `${text.slice(0, 120)}...` : text);

export const emulatorErrors = {
  'emulator.firmware': row<{ line: number; problem: string }>(
    exit.usage,
    (f) => `The writer's firmware cannot be loaded: line ${f.line} of the .hex is wrong: ${f.problem}.`,
    () => 'Build it again with "make -C firmware", or take the .hex that comes with the tool.',
  ),
  'emulator.fault': row<{ text: string; problem: string; shapes: string }>(
    exit.usage,
    (f) => `"${short(f.text)}" is not a fault: ${short(f.problem)}.`,
    (f) => `Write one of these shapes, in quotes where it has a space: ${f.shapes}.`,
  ),
  'emulator.bench-option': row<{ what: string; wanted: string }>(
    exit.usage,
    (f) => `A bench cannot have ${short(f.what)}.`,
    (f) => `Use ${f.wanted}.`,
  ),
  'emulator.bench-file': row<{ path: string; problem: string }>(
    exit.usage,
    (f) => `${short(f.path)} is not a usable bench file: ${short(f.problem)}.`,
    () => 'Name a bench file, or an older copy of it; "romkiln emulate new <bench file> --chip <part>" makes one.',
  ),
};
