// The names in a control store by step: flags with their values, and control lines, each looked up or complained about.

import { type Complaints, nearest } from '../complaints.js';
import type { Path } from '../table.js';
import { codeValue } from './coded-output.js';
import type { Line, LineSetting } from './control-word.js';
import { valuesIn } from './field-values.js';
import { type FlagSpace, type Settings, valueIn } from './flag-settings.js';
import type { Condition } from './step-schema.js';

export interface StepNames {
  /** Complains where `name` is no flag. */
  checkFlag(name: string, path: Path, onKey: boolean): boolean;
  /** The settings of the flags in which a condition holds; every setting where there is none. */
  settingsOf(condition: Condition | undefined, path: Path): Settings;
  /** The lines that a step names, with the values that it gives them. */
  linesIn(names: string | readonly string[] | undefined, path: Path): readonly LineSetting[];
}

export function stepNames(space: FlagSpace, lines: readonly Line[], complaints: Complaints): StepNames {
  const { error } = complaints;
  const flagNames = space.flags.map((flag) => flag.name);

  const checkFlag = (name: string, path: Path, onKey: boolean): boolean => {
    if (flagNames.includes(name)) return true;
    const message = `"${name}" is no flag of this control store${nearest(name, flagNames)}.`;
    const known = flagNames.length > 0 ? flagNames.join(', ') : 'none: name them under "flags"';
    error('flag.unknown', message, `The flags of this control store are ${known}.`, path, { onKey, unknown: name });
    return false;
  };

  const settingsOf = (condition: Condition | undefined, path: Path): Settings => {
    const settings = new Uint8Array(space.size).fill(1);
    for (const [name, spec] of Object.entries(condition ?? {})) {
      if (!checkFlag(name, [...path, name], true)) continue;
      const flag = space.flags.find((f) => f.name === name)!;
      const values = valuesIn(spec, flag);
      if (typeof values === 'string') {
        const why = 'A condition compares a flag with values that its wires can carry.';
        error('flag.value', `The condition on "${name}" can never hold: ${values}.`, why, [...path, name]);
        continue;
      }
      const wanted = new Set(values);
      for (const s of settings.keys()) if (!wanted.has(valueIn(flag, s))) settings[s] = 0;
    }
    return settings;
  };

  return { checkFlag, settingsOf, linesIn: lineNames(lines, complaints) };
}

/** `linesIn` alone, for a plan whose flags are not known. */
export function lineNames(lines: readonly Line[], { error }: Complaints): StepNames['linesIn'] {
  const lineIndex = new Map(lines.map(({ name }, index) => [name, index]));
  return (names, path) => {
    const list = typeof names === 'string' ? names.split(/[\s,]/).filter((n) => n !== '') : (names ?? []);
    return list.flatMap((written, i): LineSetting[] => {
      const here = typeof names === 'string' ? path : [...path, i];
      const [name = '', value = null] = written.split(/=(.*)/s);
      const line = lineIndex.get(name);
      if (line === undefined) {
        const message = `There is no control line "${name}"${nearest(name, lineIndex.keys())}.`;
        const why = 'Every line that a step asserts is declared under "lines", with what it drives or loads.';
        error('line.unknown', message, why, here, { unknown: name });
        return [];
      }
      const read = codeValue(lines[line]!, value);
      if (typeof read === 'number') return [{ line, value: read }];
      error(read.code, read.message, read.why, here, read);
      return [];
    });
  };
}
