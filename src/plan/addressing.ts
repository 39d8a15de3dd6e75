// Between settings of the fields and addresses of one ROM, both ways.
import { ToolError } from '../ground/errors.js';
import { nearNames } from '../ground/near-names.js';
import type { CompiledPlan } from './plan-compiling.js';
import type { Rom } from './rom.js';
import { readNumber } from './schema-words.js';
import type { Field } from './table.js';
import { type Choice, readChoice } from './value-choice.js';

/** The address where the pins carry these values; fields not named are 0, unused pins low, tied pins at their level. */
export function addressOfValues(rom: Rom, values: ReadonlyMap<string, number>): number {
  return rom.address.reduce((address, pin, line) => {
    const level =
      pin.kind === 'field' ? ((values.get(pin.field) ?? 0) >> pin.bit) & 1 : pin.kind === 'tied' ? pin.level : 0;
    return address | (level << line);
  }, 0);
}

/** Values of all fields that reach a ROM, by pin or fixed, at an address. */
export function valuesAt(rom: Rom, address: number): Map<string, number> {
  const values = new Map(rom.fixed);
  for (const [line, pin] of rom.address.entries()) {
    if (pin.kind === 'field')
      values.set(pin.field, (values.get(pin.field) ?? 0) | (((address >> line) & 1) << pin.bit));
  }
  return values;
}

/**
 * All addresses of a ROM where the named fields have these values, in rising order of the settings: `reading=-12`,
 * `place=0..3`, `mode=signed`. A negative number is taken as two's complement. Throws plan.setting.
 */
export function addressesOf(plan: CompiledPlan, rom: Rom, settings: readonly string[]): number[] {
  const chosen = new Map<string, Choice>();
  for (const setting of settings) {
    const [name = '', value, ...more] = setting.split('=').map((part) => part.trim());
    if (value === undefined || more.length > 0) {
      throw new ToolError('plan.setting', {
        setting,
        message: 'this is not a setting.',
        why: 'Write field=value, e.g. reading=37.',
      });
    }
    const field = plan.fields.get(name);
    if (!field)
      throw new ToolError('plan.setting', {
        setting,
        message: `there is no field "${name}".`,
        why: knownFields(plan, name),
      });
    chosen.set(name, readSetting(setting, value, field));
  }
  const reaching = new Set([...rom.fixed.keys(), ...rom.address.flatMap((p) => (p.kind === 'field' ? [p.field] : []))]);
  // In a set, a ROM that none of the named fields reaches has nothing to say about the setting.
  if (chosen.size > 0 && ![...chosen.keys()].some((name) => reaching.has(name))) return [];
  if ([...rom.fixed].some(([name, value]) => chosen.get(name)?.has(value) === false)) return [];

  let partial: Map<string, number>[] = [new Map(rom.fixed)];
  for (const [name, field] of plan.fields) {
    if (!reaching.has(name) || rom.fixed.has(name)) continue;
    const values = chosen.get(name)?.values ?? Array.from({ length: 2 ** field.bits }, (_, i) => i);
    partial = partial.flatMap((setting) => values.map((value) => new Map(setting).set(name, value)));
  }
  return partial.map((values) => addressOfValues(rom, values));
}

function readSetting(setting: string, value: string, field: Field): Choice {
  const negative = /^-\w/.test(value) ? readNumber(value.slice(1)) : null;
  const wrapped = negative !== null && negative <= 2 ** (field.bits - 1) ? 2 ** field.bits - negative : null;
  const choice = readChoice(wrapped ?? value, field);
  if (typeof choice !== 'string') return choice;
  throw new ToolError('plan.setting', {
    setting,
    message: `"${choice}" is no value of ${field.name}.`,
    why: `It is ${field.bits} bits wide: 0 to ${2 ** field.bits - 1}${field.names.size ? `, or ${[...field.names.values()].join(', ')}` : ''}.`,
  });
}

const knownFields = (plan: CompiledPlan, name: string): string => {
  const near = nearNames(name, [...plan.fields.keys()])[0];
  return near ? `Did you mean "${near}"?` : `Fields are: ${[...plan.fields.keys()].join(', ')}.`;
};
