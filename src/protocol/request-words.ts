// Every request word with its fields and the fields of its `ok`: one table for parsing, encoding and the page for people.
import { bytes, choice, type FieldKind, fixed, held, number } from './field-kind.js';
import type { Request } from './message.js';

export type RequestWord = Request['word'];

/** One field: its name on the page, its property in the message, and its spelling. */
export interface FieldRow {
  readonly name: string;
  readonly key: string;
  // One table holds fields of several types; each row's own type is fixed by its kind.
  readonly kind: FieldKind<never>;
}

export interface WordRow {
  readonly fields: readonly FieldRow[];
  /** What stands in the `ok` line (for `who` the answer is a `writer` line instead). */
  readonly ok: readonly FieldRow[];
  /** The word of the lines before the answer. */
  readonly lines: 'data' | 'sums' | null;
}

const field = <Value>(name: string, key: string, kind: FieldKind<Value>): FieldRow => ({
  name,
  key,
  kind: kind as unknown as FieldKind<never>,
});

const word = (fields: readonly FieldRow[], ok: readonly FieldRow[] = [], lines: WordRow['lines'] = null): WordRow => ({
  fields,
  ok,
  lines,
});

const any = number(0, 0xffffffff);
const address = field('a', 'address', any);
const count = field('n', 'count', number(1, 0xffffffff));
const powerOfTwo = (value: number): boolean => (value & (value - 1)) === 0;
/** What one write cycle may take; 1 is a chip that is written cell by cell. */
const pageSizes: readonly number[] = [0x1, 0x10, 0x20, 0x40, 0x80, 0x100];

/** Ranges: firmware-protocol.md section 4. Those that depend on the chosen chip or the block store are the writer's to judge. */
export const requestWords: { readonly [Word in RequestWord]: WordRow } = {
  who: word([]),
  echo: word(
    [
      field(
        'b64',
        'bytes',
        bytes((limits) => limits.echo),
      ),
    ],
    [
      field(
        'b64',
        'bytes',
        bytes(() => Infinity),
      ),
    ],
  ),
  rate: word([field('baud', 'baud', any)]),
  chip: word([
    field('cells', 'cells', number(0x100, 0x1000000, powerOfTwo)),
    field(
      'page',
      'page',
      number(0x1, 0x100, (value) => pageSizes.includes(value)),
    ),
    field('cycle', 'cycleUs', number(0x1, 0x186a0)),
    field('window', 'windowUs', number(0x0, 0x3e8)),
    field('poll', 'poll', choice(['limit', 'data', 'toggle'])),
    field('protection', 'protection', choice(['none', 'codes', 'prefix'])),
  ]),
  registers: word([], [field('n', 'count', any)]),
  presence: word([address], [field('mask', 'mask', number(0, 0xff))]),
  read: word([address, count], [field('sum', 'sum', fixed(8))], 'data'),
  sum: word([address, count, field('page', 'page', number(0x1, 0x1000))], [count], 'sums'),
  write: word([
    address,
    field(
      'b64',
      'bytes',
      bytes(() => Infinity),
    ),
  ]),
  protect: word([]),
  unprotect: word([]),
  hold: word(
    [
      field('a', 'address', number(0, 0xffffff)),
      field('control', 'control', number(0, 7)),
      field('data', 'data', held),
    ],
    [field('bus', 'bus', number(0, 0xff))],
  ),
  stop: word([]),
};
