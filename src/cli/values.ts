// Option texts into values, each with one clear complaint when it is not one.
import { ToolError } from '../ground/errors.js';
import { type OptionValues, textOption } from './command.js';

const bad = (option: string, value: string, wanted: string): ToolError =>
  new ToolError('cli.bad-value', { option, value, wanted });

/** A whole number, decimal or 0x hexadecimal, inside inclusive bounds. */
export function wholeNumber(option: string, text: string, least: number, most: number): number {
  const value = /^(0x[0-9a-f]+|\d+)$/i.test(text) ? Number(text) : Number.NaN;
  if (!(value >= least && value <= most))
    throw bad(option, text, `a whole number from ${least} to ${most}, decimal or 0x...`);
  return value;
}

export function numberOption(
  options: OptionValues,
  name: string,
  flag: string,
  least: number,
  most: number,
): number | null {
  const text = textOption(options, name);
  return text === null ? null : wholeNumber(flag, text, least, most);
}

/** A time such as 5ms, 200us or 1.5s, in microseconds. */
export function microseconds(option: string, text: string): number {
  const match = /^(\d+(?:\.\d+)?)(us|ms|s)$/.exec(text.trim());
  const factor = { us: 1, ms: 1000, s: 1_000_000 }[match?.[2] ?? ''] ?? Number.NaN;
  const value = Math.round(Number(match?.[1]) * factor);
  if (!Number.isFinite(value)) throw bad(option, text, 'a time with its unit, such as 5ms, 200us or 1s');
  return value;
}

/** One of a few words. */
export function choiceOption<Word extends string>(
  options: OptionValues,
  name: string,
  flag: string,
  words: readonly Word[],
): Word | null {
  const text = textOption(options, name);
  if (text === null) return null;
  const found = words.find((w) => w === text);
  if (found === undefined) throw bad(flag, text, `one of ${words.join(', ')}`);
  return found;
}
