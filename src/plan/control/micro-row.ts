// One row of a microprogram resolved: names of fields, codes and labels become numbers, or are complained about.

import { countOf } from '../../ground/quantity.js';
import { type Complaints, nearest } from '../complaints.js';
import { readNumber } from '../schema-words.js';
import type { Field, Path } from '../table.js';
import { codeValue, type WrongValue } from './coded-output.js';
import type { MicroField } from './micro-field.js';
import type { Setting, TextPlace } from './microprogram-text.js';

/** One word: a value for each field. */
export interface MicroWord {
  readonly values: readonly number[];
  /** Fields that its row sets itself; all others have their defaults. */
  readonly written: ReadonlySet<number>;
}

export type RowResolver = (settings: readonly Setting[], at: number, path: Path, row: TextPlace) => MicroWord;

/** A function that turns the settings of a row into one value a field. */
export function rowResolver(
  fields: readonly MicroField[],
  address: Field,
  labels: ReadonlyMap<string, number>,
  { error }: Complaints,
): RowResolver {
  const index = new Map(fields.map((field, i) => [field.name, i]));
  return (settings, at, path, row) => {
    // What is wrong is complained about, and stays 0.
    const values = fields.map(() => 0);
    const written = new Map<number, Setting>();
    for (const setting of settings) {
      const within = { line: setting.line, column: setting.column };
      const i = index.get(setting.name);
      if (i === undefined) {
        const message = `There is no field or line "${setting.name}"${nearest(setting.name, index.keys())}.`;
        error('line.unknown', message, 'The fields of a row are declared under "word".', path, {
          within,
          unknown: setting.name,
        });
        continue;
      }
      const earlier = written.get(i);
      if (earlier !== undefined) {
        const message = `${settingAsWritten(earlier)} and ${settingAsWritten(setting)} stand in one row.`;
        const why = 'A field carries one value at a time; one of them needs a row of its own.';
        error('code.two-of-one', message, why, path, { within });
        continue;
      }
      written.set(i, setting);
      const value = fieldValue(fields[i]!, setting.value, at, address, labels);
      if (typeof value === 'number') values[i] = value;
      else error(value.code, value.message, value.why, path, { ...value, within });
    }
    fields.forEach((field, i) => {
      if (written.has(i)) return;
      const value = field.fallback === null ? null : fieldValue(field, field.fallback, at, address, labels);
      if (typeof value === 'number') values[i] = value;
      else if (value === null) {
        const why =
          'It has neither a default nor a code 0, so the plan must say it in every row, or give it a "default".';
        error('field.unset', `This row does not set the field "${field.name}".`, why, path, { within: row });
      } else {
        const message = `The default of "${field.name}": ${value.message}`;
        error(value.code, message, value.why, ['word', field.name, 'default']);
      }
    });
    return { values, written: new Set(written.keys()) };
  };
}

const settingAsWritten = (s: Setting): string => (s.value === null ? `"${s.name}"` : `"${s.name}=${s.value}"`);

/** The number that `text` means in a field of the row at address `at`. */
function fieldValue(
  field: MicroField,
  text: string | null,
  at: number,
  address: Field,
  labels: ReadonlyMap<string, number>,
): number | WrongValue {
  if (!field.holdsAddress) return codeValue(field, text);
  if (text === null) {
    const why = `Only a line of one bit can stand alone; write ${field.name}=next.`;
    return { code: 'field.no-value', message: `"${field.name}" stands without a value.`, why };
  }
  const value = addressIn(text, at, labels);
  if (value === null) {
    const message = `There is no label "${text}"${nearest(text, labels.keys())}.`;
    return { code: 'label.unknown', message, why: 'An address is a label, "next", "here" or a number.', unknown: text };
  }
  if (value >= 2 ** address.bits) {
    const message = `"${text}" leads to address ${value}, beyond the last one, ${2 ** address.bits - 1}.`;
    return { code: 'address.beyond', message, why: `The field "${address.name}" has ${countOf(address.bits, 'bit')}.` };
  }
  if (value < 2 ** field.bits) return value;
  const why = `"${field.name}" is ${countOf(field.bits, 'bit')} wide and takes 0 to ${2 ** field.bits - 1}.`;
  return { code: 'code.beyond', message: `${value} does not fit "${field.name}".`, why };
}

function addressIn(text: string, at: number, labels: ReadonlyMap<string, number>): number | null {
  if (text === 'next') return at + 1;
  return text === 'here' ? at : (labels.get(text) ?? readNumber(text));
}

/** The address of a label or number outside the rows, e.g. in a dispatch table; 0 where it is complained about. */
export function targetOf(
  text: string | number,
  address: Field,
  labels: ReadonlyMap<string, number>,
  path: Path,
  { error }: Complaints,
): number {
  const value = labels.get(String(text)) ?? readNumber(text);
  if (value === null) {
    const why = 'A target is a label of the program or an address.';
    error('label.unknown', `There is no label "${text}"${nearest(String(text), labels.keys())}.`, why, path, {
      unknown: String(text),
    });
  } else if (value >= 2 ** address.bits) {
    const why = `The field "${address.name}" has ${countOf(address.bits, 'bit')}.`;
    error('address.beyond', `Address ${value} is beyond the last one, ${2 ** address.bits - 1}.`, why, path);
  }
  return value ?? 0;
}
