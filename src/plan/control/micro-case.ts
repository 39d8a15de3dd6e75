// The cases of one row of a microprogram: which settings of the inputs each is for, and what the row does then.

import { type Complaints, nearest } from '../complaints.js';
import { valuesIn } from './field-values.js';
import { type FlagSpace, type Settings, settingsInWords, valueIn } from './flag-settings.js';
import type { RowResolver } from './micro-row.js';
import type { MicroCase } from './microprogram.js';
import { programPath, type RowStatement } from './microprogram-layout.js';
import type { CaseText } from './microprogram-text.js';

/** Cases are tried in order and the first that holds is taken; one of them has to hold at every possible setting. */
export function microCases(
  { cases, ...place }: RowStatement,
  address: number,
  space: FlagSpace,
  possible: Settings,
  valuesOf: RowResolver,
  complaints: Complaints,
): readonly MicroCase[] {
  const left = possible.slice();
  const read = cases.map((written): MicroCase => {
    const { line, column } = written;
    const holds = settingsOf(written, space, complaints);
    const when = left.map((open, s) => open & holds[s]!);
    for (const s of left.keys()) if (when[s] === 1) left[s] = 0;
    const never = when.every((met) => met === 0);
    if (never) {
      const why = 'The first case that holds is taken; put this one higher, or leave it out.';
      complaints.warning(
        'case.never',
        'This case is never chosen: the cases before it take all that it is for.',
        why,
        programPath,
        {
          within: { line, column },
        },
      );
    }
    return { ...valuesOf(written.settings, address, programPath, written), address, place: { line, column }, when };
  });
  if (left.includes(1)) {
    const message = `Nothing says what this row does when ${settingsInWords(space, left, possible)}.`;
    const within = { line: place.line, column: place.column };
    complaints.error('row.no-else', message, 'End the row with a line "else ..." for all that is left.', programPath, {
      within,
    });
  }
  return read;
}

function settingsOf({ conditions }: CaseText, space: FlagSpace, { error }: Complaints): Settings {
  const holds = new Uint8Array(space.size).fill(1);
  for (const { name, value, line, column } of conditions) {
    const within = { line, column };
    const input = space.flags.find((flag) => flag.name === name);
    const known = space.flags.map((flag) => flag.name);
    if (input === undefined) {
      const why = `The inputs are ${known.join(', ') || 'none: name them under "inputs"'}.`;
      error('field.unknown', `"${name}" is no input of this control store${nearest(name, known)}.`, why, programPath, {
        within,
      });
      continue;
    }
    const values = value === null ? `"${name}" stands without a value` : valuesIn(value, input);
    if (typeof values === 'string') {
      error('field.value', `${values}.`, `A condition is written ${name}=value, or ${name}=1..3.`, programPath, {
        within,
      });
      continue;
    }
    const wanted = new Set(values);
    for (const s of holds.keys()) if (!wanted.has(valueIn(input, s))) holds[s] = 0;
  }
  return holds;
}
