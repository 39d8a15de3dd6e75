// Errors of the rooms protocol and conform: code, exit, sentence, note.
import { exit } from '../exit.js';
import { row } from './row.js';

export const protocolErrors = {
  'conform.broken': row<{ wanted: string; seen: string }>(
    exit.differs,
    (f) => `The writer breaks a rule of the protocol: wanted ${f.wanted}; seen ${f.seen}.`,
    () => 'firmware-protocol.md says what a writer must do; the rule names its section.',
  ),
  'conform.not-kept': row<{ chip: string; why: string }>(
    exit.refused,
    (f) => `What ${f.chip} holds cannot be kept, so nothing was written: ${f.why}.`,
    () =>
      'Without --scratch the rules that write nothing are tried. --discard writes a chip whose cells read unsteadily.',
  ),
  'conform.no-writer': row<{ path: string; heard: number }>(
    exit.noConversation,
    (f) =>
      f.heard === 0
        ? `No writer answered on ${f.path}.`
        : `No writer answered on ${f.path}; ${f.heard} lines came that say nothing in this protocol.`,
    () => 'A writer answers `who` at 115200 baud within 6 seconds; see firmware-protocol.md, section 2.',
  ),
};
