// Where the rows of a microprogram stand: origins followed, addresses given once, labels known.

import { countOf } from '../../ground/quantity.js';
import type { Complaints } from '../complaints.js';
import { readNumber } from '../schema-words.js';
import { anotherPlace, type Field, type Path } from '../table.js';
import type { Statement } from './microprogram-text.js';

export type RowStatement = Extract<Statement, { kind: 'row' }>;
export const programPath: Path = ['program'];

/** Gives every row its address and every label its row. */
export function placeRows(
  statements: readonly Statement[],
  address: Field,
  { error }: Complaints,
): { readonly rows: ReadonlyMap<number, RowStatement>; readonly labels: ReadonlyMap<string, number> } {
  const rows = new Map<number, RowStatement>();
  const labels = new Map<string, number>();
  const size = 2 ** address.bits;
  const range = `The field "${address.name}" is ${countOf(address.bits, 'bit')} wide and reaches 0 to ${size - 1}.`;
  let next = 0;
  for (const statement of statements) {
    const more = { within: { line: statement.line, column: statement.column } };
    if (statement.kind === 'wrong') {
      error('row.wrong', `This line cannot be read: ${statement.says}.`, rowForm, programPath, more);
    } else if (statement.kind === 'origin') {
      const to = readNumber(statement.address);
      if (to === null) {
        error(
          'origin.wrong',
          `"${statement.address}" is no address.`,
          'An origin is a number, as in origin 64.',
          programPath,
          more,
        );
      } else if (to >= size) {
        error('address.beyond', `The origin ${to} is beyond the last address.`, range, programPath, more);
      }
      next = to ?? next;
    } else {
      if (next === size) error('address.beyond', `This row would stand at address ${next}.`, range, programPath, more);
      const other = rows.get(next);
      if (other !== undefined) {
        const message = `Address ${next} already holds the row of ${anotherPlace}.`;
        error('address.twice', message, 'Two rows cannot share a cell; move one of the origins.', programPath, {
          ...more,
          other: { line: other.line, column: other.column },
        });
      } else if (next < size) {
        rows.set(next, statement);
      }
      for (const label of statement.labels) {
        const within = { line: label.line, column: label.column };
        if (labels.has(label.name) || reserved.has(label.name)) {
          const message = reserved.has(label.name)
            ? `"${label.name}" cannot be a label.`
            : `The label "${label.name}" is there already, at address ${labels.get(label.name)}.`;
          error('label.twice', message, 'A label names one row, and "next" and "here" have a meaning.', programPath, {
            within,
          });
        } else labels.set(label.name, next);
      }
      next++;
    }
  }
  return { rows, labels };
}

export const rowForm = 'A row looks like this: label: field=code line next=label; an origin like this: origin 64.';
const reserved = new Set(['next', 'here', 'elsewhere', 'undefined']);
