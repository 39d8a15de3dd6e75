// The line that is sent where no writer has spoken: what listens may be a boot loader, to which every character is a command.
import { composeLine } from './line.js';

/** The number of the search line, which no other request gets. */
export const searchSeq = 0x8f;

/**
 * `8F who 852F` behind an empty line that ends whatever came before. Always the same: cut anywhere, and heard at any rate, it
 * holds no `d`, with which a boot loader begins to erase a page (tests/protocol/search-line.test.ts tries all of them).
 */
export const searchLine = `\n${composeLine(searchSeq, 'who', [])}`;

/** What version 1 called `who`. It is said only to a writer that has spoken, and does not know `who`, so that it names itself. */
export const searchLineOfVersion1 = `\n${composeLine(searchSeq, 'identify', [])}`;
