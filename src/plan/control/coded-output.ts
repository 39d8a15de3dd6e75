// Outputs whose values mean something: a line of one bit, or several bits with a decoder behind them. The same for both
// control stores.

import { countOf } from '../../ground/quantity.js';
import { type Complaints, nearest } from '../complaints.js';
import { readNumber } from '../schema-words.js';
import type { Path } from '../table.js';
import type { Action } from './bus-traffic.js';

/** One value of an encoded output. */
export interface Code extends Action {
  readonly value: number;
}

export interface CodedOutput<A extends Action = Action> {
  readonly name: string;
  readonly bits: number;
  /** By name; empty on outputs without codes. */
  readonly codes: ReadonlyMap<string, A & Code>;
  /** By value, without the codes that do not fit. */
  readonly byValue: ReadonlyMap<number, A & Code>;
  /** What the output does where it is one line and asserted. */
  readonly asserted: A;
  readonly activeLow: boolean;
  /** Its values are addresses of the program. */
  readonly holdsAddress?: boolean;
}

/** An output of one bit that has neither codes nor an address in it: a control line. */
export const isLine = ({ bits, codes, holdsAddress = false }: CodedOutput): boolean =>
  bits === 1 && codes.size === 0 && !holdsAddress;

/** What an output does at a value; null where the value means nothing. */
export const actionAt = <A extends Action>(output: CodedOutput<A>, value: number): A | null =>
  isLine(output) ? (value === 1 ? output.asserted : null) : (output.byValue.get(value) ?? null);

/** "lamp.light", "lamp.light=0", "source=vane". */
export function settingInWords(output: CodedOutput, value: number): string {
  if (isLine(output)) return value === 1 ? output.name : `${output.name}=${value}`;
  return output.byValue.get(value)?.name ?? `${output.name}=${value}`;
}

/** How a plan writes a code: its number alone, or with what it does. */
export type WrittenCode = number | string | { readonly code: number | string };

/** Reads the codes of one output; those that do not fit are complained about and left out. `path` leads to the output. */
export function readCodes<W extends WrittenCode, C extends Code>(
  output: string,
  bits: number,
  written: Readonly<Record<string, W>>,
  make: (name: string, value: number, long: Extract<W, object> | null) => C,
  path: Path,
  { error }: Complaints,
): ReadonlyMap<string, C> {
  const codes = new Map<string, C>();
  for (const [name, one] of Object.entries(written)) {
    const long = typeof one === 'object' ? (one as Extract<W, object>) : null;
    const value = readNumber(long === null ? one : long.code) ?? 0;
    const here = [...path, 'codes', name];
    const twin = [...codes].find(([, code]) => code.value === value)?.[0];
    if (value >= 2 ** bits) {
      const message = `The code ${value} of "${name}" does not fit "${output}", which is ${countOf(bits, 'bit')} wide.`;
      error('code.beyond', message, `It takes 0 to ${2 ** bits - 1}; give it more bits.`, here);
      continue;
    }
    if (twin !== undefined) {
      const message = `"${twin}" and "${name}" of "${output}" are both code ${value}.`;
      error('code.twice', message, 'The decoder behind it cannot tell them apart.', here);
    }
    codes.set(name, make(`${output}=${name}`, value, long));
  }
  return codes;
}

/** What is wrong with a value as written. */
export interface WrongValue {
  readonly code: string;
  readonly message: string;
  readonly why: string;
  /** The name that is not known. */
  readonly unknown?: string;
}

/** The number that `text` means as a value of an output, or what is wrong with it; null is a name that stands alone. */
export function codeValue(output: CodedOutput, text: string | null): number | WrongValue {
  const { name, bits, codes } = output;
  const limit = 2 ** bits - 1;
  if (text === null) {
    if (isLine(output)) return 1;
    const message = `"${name}" stands without a value.`;
    const why = `Only a line of one bit can stand alone; write ${name}=${[...codes.keys()][0] ?? '1'}.`;
    return { code: 'field.no-value', message, why };
  }
  const takes = `"${name}" is ${countOf(bits, 'bit')} wide and takes 0 to ${limit}.`;
  const value = codes.get(text)?.value ?? readNumber(text);
  if (value === null) {
    const known = [...codes.keys()].join(', ');
    const message = `"${text}" is no code of "${name}"${nearest(text, codes.keys())}.`;
    return { code: 'code.unknown', message, why: known === '' ? takes : `Its codes are ${known}.`, unknown: text };
  }
  return value <= limit ? value : { code: 'code.beyond', message: `${value} does not fit "${name}".`, why: takes };
}
