// What a command is: one row of the command table, and what it gets when it runs.
import type { Outputs } from './outputs.js';
import type { World } from './world.js';

export interface OptionRow {
  /** As commander spells it: `--range <range>`, `-o, --output <file>`, `--json`. */
  readonly flags: string;
  readonly help: string;
  /** May be given several times; the value is then a list. */
  readonly many?: boolean;
  /** Characters that its value may have at most. */
  readonly longest?: number;
}

export interface HelpTable {
  readonly heading: readonly string[];
  readonly rows: readonly (readonly string[])[];
}

/** A word that is of no use here. `right`: when it would be, with {} for the command's name. */
export interface IdleWord {
  /** The command's first word, where it says what is done. */
  readonly action?: string;
  readonly word: string;
  readonly right: string;
}

/** Finds the words that this use of the command would have to ignore. */
export type IdleRule = (operands: readonly string[], options: OptionValues) => readonly IdleWord[];

export interface CommandRow {
  readonly name: string;
  readonly summary: string;
  /** `<name>` needed, `[name]` optional, `<name...>` one or more, `[name...]` any number. */
  readonly operands: readonly string[];
  readonly options: readonly OptionRow[];
  readonly idle?: IdleRule;
  /** Said under the options in the command's help. */
  readonly examples?: readonly string[];
  /** What an operand may be, as a table said under the examples; loaded only where the command is named. */
  loadTable?(): Promise<HelpTable>;
  /** The command's own code, loaded only when it runs. */
  load(): Promise<{ readonly execute: Execute }>;
}

export type OptionValues = Readonly<Record<string, string | boolean | readonly string[] | undefined>>;

export interface Invocation {
  readonly world: World;
  readonly command: string;
  readonly operands: readonly string[];
  readonly options: OptionValues;
  /** Every file that is asked for goes through here. */
  readonly outputs: Outputs;
}

/** Runs a command to its end; returns the exit number. Throws ToolError or ToolErrors. */
export type Execute = (invocation: Invocation) => Promise<number>;

/** A value option's text, or null where it was not given. */
export const textOption = (options: OptionValues, name: string): string | null => {
  const value = options[name];
  return typeof value === 'string' ? value : null;
};

export const flagOption = (options: OptionValues, name: string): boolean => options[name] === true;

export const listOption = (options: OptionValues, name: string): readonly string[] => {
  const value = options[name];
  return Array.isArray(value) ? value : [];
};
