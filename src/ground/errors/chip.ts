// Errors of the room chip: code, exit, sentence, note.
import { printable } from '../byte-text.js';
import { exit } from '../exit.js';
import { row } from './row.js';

/** Text from outside, short enough for one sentence. */
const quoted = (text: string): string => `"${printable(text.length > 60 ? `${text.slice(0, 60)}...` : text)}"`;

export const chipErrors = {
  'chip.unknown': row<{ name: string; near: readonly string[] }>(
    exit.usage,
    (f) => `There is no chip ${quoted(f.name)} in the table.`,
    (f) =>
      f.near.length > 0
        ? `Near names: ${f.near.join(', ')}. "romkiln chips" lists all.`
        : 'Take a part name such as AT28C256, or a family such as 28C256; "romkiln chips" lists all.',
  ),
  'chip.no-protection': row<{ chip: string }>(
    exit.usage,
    (f) => `${f.chip} has no software data protection.`,
    () => 'On such a part the codes would be ordinary writes, so they are not sent.',
  ),
  'chip.wiring-fault': row<{ text: string; problem: string; shapes: string }>(
    exit.usage,
    (f) => `${quoted(f.text)} is not a wiring fault: ${printable(f.problem.slice(0, 120))}.`,
    (f) => `Write one of these shapes: ${f.shapes} (lines A0 to A23 and D0 to D7; "shorted low" or "shorted high").`,
  ),
};
