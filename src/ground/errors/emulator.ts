// Errors of the room emulator: code, exit, sentence, note.
import { printable } from '../byte-text.js';
import { exit } from '../exit.js';
import { row } from './row.js';

const short = (text: string): string => printable(text.length > 120 ? `${text.slice(0, 120)}...` : text);

export const emulatorErrors = {
  'emulator.firmware': row<{ line: number; problem: string }>(
    exit.usage,
    (f) => `The writer's firmware cannot be loaded: line ${f.line} of the .hex is wrong, ${f.problem}.`,
    () => 'Build it again with "make -C firmware", or take the .hex that comes with the tool.',
  ),
  'emulator.fault': row<{ text: string; problem: string; shapes: string }>(
    exit.usage,
    (f) => `"${short(f.text)}" is not a fault: ${short(f.problem)}.`,
    (f) => `Write one of these shapes: ${f.shapes}.`,
  ),
  'emulator.bench-option': row<{ name: string; found: string; wanted: string }>(
    exit.usage,
    (f) => `A bench cannot have ${short(f.name)} ${short(f.found)}.`,
    (f) => `Right would be ${f.wanted}.`,
  ),
  'emulator.bench-file': row<{ path: string; problem: string }>(
    exit.usage,
    (f) => `${short(f.path)} is not a bench file that can be used: ${short(f.problem)}.`,
    (f) =>
      `Remove it and make a new one with "romkiln emulate new ${short(f.path)} --chip <part>", or take an older copy.`,
  ),
};
