// A ROM as the plan writes it; where something in it has the wrong shape, the rest of it is read all the same.
import type { Complaints } from './complaints.js';
import { romSchema } from './plan-schema.js';
import { checkShape, isMap } from './schema-mistake.js';
import { readable } from './schema-words.js';
import type { PinLists } from './wired-bits.js';

/** Null stands for what cannot be read; it was complained about. */
export interface WrittenRom {
  readonly chip: string | null;
  readonly address: PinLists | null;
  readonly data: PinLists | null;
  readonly fixed: Readonly<Record<string, string | number>>;
  /** All fields that `fixed` names, also those whose value cannot be read. */
  readonly fixedNames: readonly string[];
  /** Undefined where the ROM has none of its own. */
  readonly contents: unknown;
}

/** `asMeant` gives a map with its misspelt keys as they are meant. */
export function readWrittenRom(
  name: string,
  written: unknown,
  asMeant: (map: Readonly<Record<string, unknown>>, known: readonly string[]) => Readonly<Record<string, unknown>>,
  here: Complaints,
): WrittenRom | null {
  const { output, findings } = checkShape(romSchema, written, `The ROM "${name}"`);
  here.add(findings);
  if (output !== null) return { ...output, contents: output.contents, fixedNames: Object.keys(output.fixed) };
  if (!isMap(written)) return null;
  const { entries } = romSchema;
  const { chip, address, data, fixed, contents } = asMeant(written, Object.keys(entries));
  const values = isMap(fixed) ? fixed : {};
  return {
    chip: readable(entries.chip, chip),
    address: pinLists(address),
    data: pinLists(data),
    fixed: soundValues(values),
    fixedNames: Object.keys(values),
    contents,
  };
}

const pinLists = (written: unknown): PinLists | null => {
  const { value } = romSchema.entries.address;
  return isMap(written)
    ? Object.fromEntries(Object.entries(written).map(([wired, pins]) => [wired, readable(value, pins)]))
    : null;
};

const soundValues = (written: Readonly<Record<string, unknown>>): WrittenRom['fixed'] =>
  Object.assign(
    {},
    ...Object.entries(written).map(([field, value]) => readable(romSchema.entries.fixed, { [field]: value })),
  );
