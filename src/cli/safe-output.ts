// What a command shows may hold names from files and from other people: control characters never reach a terminal as such.
import { hex } from '../ground/byte-text.js';
import type { Output, World } from './world.js';

/** All that moves a cursor, colours, or turns the direction of writing; line ends and the progress line's return are ours. */
const moving = /[\0-\x09\x0b\x0c\x0e-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]/g;

/** JSON has its own spelling for any character, which the reader turns back. */
const inJson = (c: string): string => `\\u${hex(c.charCodeAt(0), 4)}`;
const inText = (c: string): string => `\\x${hex(c.charCodeAt(0))}`;

/** Text with such characters spelled out. */
export const safeText = (text: string): string => text.replace(moving, inText);

const safe = (output: Output, spell: (character: string) => string): Output => ({
  write: (text) => output.write(text.replace(moving, spell)),
  get isTerminal() {
    return output.isTerminal;
  },
  get columns() {
    return output.columns;
  },
});

/** The same world with outputs and questions that show such characters spelled out. */
export const safeWorld = (world: World, json: boolean): World => ({
  ...world,
  stdout: safe(world.stdout, json ? inJson : inText),
  stderr: safe(world.stderr, inText),
  ask: (question) => world.ask(safeText(question)),
});
