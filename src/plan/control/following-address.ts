// The following address as an output of its own: a store whose next address stands in a ROM instead of a counter.

import { complaints } from '../complaints.js';
import type { Finding } from '../table.js';
import { caseInWords } from './address-explanation.js';
import { type Destination, destinationsOf } from './micro-flow.js';
import { casesOf, type MicroCase, type Microprogram } from './microprogram.js';

export interface Following {
  /** The output that carries it. */
  readonly name: string;
  /** The address after `address` at a setting of the inputs; `dispatched` gives the target of a dispatch table then. */
  at(address: number, setting: number, dispatched: (table: string) => number | undefined): number | undefined;
  readonly findings: readonly Finding[];
}

/** Every row must go to exactly one place that the store knows; otherwise hardware has to choose, and no ROM can. */
export function compileFollowing(name: string, program: Microprogram): Following {
  const { findings, error } = complaints();
  const after = new Map<MicroCase, Exclude<Destination, { kind: 'elsewhere' }>>();
  for (const row of casesOf(program)) {
    const [only, ...others] = destinationsOf(program, row);
    if (only !== undefined && others.length === 0 && only.kind !== 'elsewhere') {
      after.set(row, only);
      continue;
    }
    const what = only === undefined ? 'no place' : others.length > 0 ? 'several places' : 'a place outside the store';
    const message = `${caseInWords(program, row)}: this row goes to ${what}, so "${name}" has no value.`;
    const why =
      'A following address in the store needs one "goes" in each row: next, an address field, a dispatch or a label.';
    error('following.unclear', message, why, ['program'], { within: row.place });
  }
  return {
    name,
    findings,
    at: (address, setting, dispatched) => {
      const row = program.rows.get(address)?.cases.find(({ when }) => when[setting] === 1);
      const destination = row && after.get(row);
      if (destination === undefined) return undefined;
      return destination.kind === 'address' ? destination.address : dispatched(destination.dispatch.name);
    },
  };
}
