// Between settings of the fields and addresses of one ROM, both ways.
import { ToolError } from '../ground/errors.js';
import { nearNames } from '../ground/near-names.js';
import type { CompiledPlan } from './plan-compiling.js';
import type { AddressPin, Rom } from './rom.js';
import { readNumber } from './schema-words.js';
import { sayField } from './setting-words.js';
import type { Field } from './table.js';
import { type Choice, readChoice } from './value-choice.js';
import { everyValue, sayTaken as sayRange } from './value-range.js';

/** The address where the pins carry these values; fields not named are 0, unused pins low, tied pins at their level. */
export function addressOfValues(rom: Rom, values: ReadonlyMap<string, number>): number {
  return rom.address.reduce((address, pin, line) => {
    return address | (levelOf(pin, values) << line);
  }, 0);
}

function levelOf(pin: AddressPin, values: ReadonlyMap<string, number>): number {
  if (pin.kind === 'field') return (((values.get(pin.field) ?? 0) >> pin.bit) & 1) ^ Number(pin.inverted);
  return pin.kind === 'tied' ? pin.level : 0;
}

/** Values of all fields that reach a ROM, by pin or fixed, at an address. */
export function valuesAt(rom: Rom, address: number): Map<string, number> {
  const values = new Map(rom.fixed);
  for (const [line, pin] of rom.address.entries()) {
    if (pin.kind !== 'field') continue;
    const bit = ((address >> line) & 1) ^ Number(pin.inverted);
    values.set(pin.field, (values.get(pin.field) ?? 0) | (bit << pin.bit));
  }
  return values;
}

/** What one word of a command line chooses. */
interface Chosen {
  readonly setting: string;
  readonly field: Field;
  readonly choice: Choice;
  /** For a number below 0: where its field is signed, see `Table.negativeWhere`; null for all others. */
  readonly where: readonly ReadonlyMap<string, number>[] | null;
}

/**
 * All addresses of a ROM where the named fields have these values, in rising order of the settings: `level=-12`,
 * `place=0..3`, `mode=signed`. A negative number is two's complement, and is taken only where the contents take the field as
 * signed. Throws plan.setting.
 */
export function addressesOf(plan: CompiledPlan, rom: Rom, settings: readonly string[]): number[] {
  const chosen = new Map<string, Chosen>();
  for (const setting of settings) {
    const one = readSetting(plan, setting);
    if (chosen.has(one.field.name)) {
      const why = `Give every field once; several values are written as a range, e.g. ${one.field.name}=1..2.`;
      throw wrong(setting, `the field "${one.field.name}" is given twice.`, why);
    }
    chosen.set(one.field.name, one);
  }
  for (const one of chosen.values()) checkSign(plan, one, chosen);
  const reaching = new Set([...rom.fixed.keys(), ...rom.address.flatMap((p) => (p.kind === 'field' ? [p.field] : []))]);
  // In a set, a ROM that none of the named fields reaches has nothing to say about the setting.
  if (chosen.size > 0 && ![...chosen.keys()].some((name) => reaching.has(name))) return [];
  if ([...rom.fixed].some(([name, value]) => chosen.get(name)?.choice.has(value) === false)) return [];

  let partial: Map<string, number>[] = [new Map(rom.fixed)];
  for (const [name, field] of plan.fields) {
    if (!reaching.has(name) || rom.fixed.has(name)) continue;
    const values = chosen.get(name)?.choice.values ?? everyValue(field);
    partial = partial.flatMap((setting) => values.map((value) => new Map(setting).set(name, value)));
  }
  const signed = [...chosen.values()].flatMap(({ where }) => (where === null ? [] : [where]));
  return partial
    .filter((values) =>
      signed.every((where) => where.some((w) => holds(w, (name, v) => (values.get(name) ?? v) === v))),
    )
    .map((values) => addressOfValues(rom, values));
}

const wrong = (setting: string, message: string, why: string): ToolError =>
  new ToolError('plan.setting', { setting, message, why });

const holds = (where: ReadonlyMap<string, number>, is: (field: string, value: number) => boolean): boolean =>
  [...where].every(([field, value]) => is(field, value));

function readSetting(plan: CompiledPlan, setting: string): Chosen {
  const [name = '', value, ...more] = setting.split('=').map((part) => part.trim());
  if (value === undefined || more.length > 0)
    throw wrong(setting, 'this is not a setting.', 'Write field=value, e.g. level=37.');
  const field = plan.fields.get(name);
  if (!field) throw wrong(setting, `there is no field "${name}".`, knownFields(plan, name));
  const below = !field.signed && /^-\w/.test(value) ? readNumber(value.slice(1)) : null;
  const where = below ? plan.roms.flatMap((rom) => rom.table.negativeWhere?.(name) ?? []) : null;
  const wraps = below && where!.length > 0 && below <= 2 ** (field.bits - 1);
  const read = readChoice(wraps ? 2 ** field.bits - below : value === '-0' ? 0 : value, field);
  const choice = typeof read === 'string' ? (readNamed(plan, value, field) ?? read) : read;
  if (typeof choice === 'string')
    throw wrong(setting, `"${choice}" is no value of ${name}.`, sayTaken(field, where, plan));
  return { setting, field, choice, where };
}

/** The values under a name that the contents give, such as an instruction's; null where they give none. */
function readNamed({ roms }: CompiledPlan, written: string, field: Field): Choice | null {
  const given = roms.flatMap((rom) => rom.table.namesIn?.(field.name) ?? []).filter(([, name]) => name === written);
  if (given.length === 0) return null;
  const choice = readChoice(
    given.map(([value]) => value),
    field,
  );
  return typeof choice === 'string' ? null : choice;
}

/** A number below 0 where the other words say that its field is not signed. */
function checkSign(plan: CompiledPlan, { setting, field, where }: Chosen, chosen: ReadonlyMap<string, Chosen>): void {
  const may = where?.some((w) => holds(w, (name, value) => chosen.get(name)?.choice.has(value) ?? true)) ?? true;
  if (!may) throw wrong(setting, `${field.name} is not signed there.`, sayTaken(field, where, plan));
}

function sayTaken(field: Field, where: Chosen['where'], { fields, roms }: CompiledPlan): string {
  const { name, bits, names } = field;
  const signed = where ?? roms.flatMap((rom) => rom.table.negativeWhere?.(name) ?? []);
  const words = [
    ...new Set([...names.values(), ...roms.flatMap((r) => (r.table.namesIn?.(name) ?? []).map(([, n]) => n))]),
  ];
  const settings = [...new Set(signed.map((w) => [...w].map(([f, value]) => sayField(f, value, fields)).join(', ')))];
  const below = `, or from -${2 ** (bits - 1)}${settings.includes('') ? '' : ` with ${settings.join(' or ')}`}`;
  const sign = signed.length > 0 ? below : where ? ', and not signed' : '';
  return `${sayRange(field)}${sign}${words.length > 0 ? `, or ${words.join(', ')}` : ''}.`;
}

const knownFields = (plan: CompiledPlan, name: string): string => {
  const near = nearNames(name, [...plan.fields.keys()])[0];
  return near ? `Did you mean "${near}"?` : `Fields are: ${[...plan.fields.keys()].join(', ')}.`;
};
