// The --range option, held to the chip.
import type { Part } from '../chip/part.js';
import { parseRange, type Range, wholeRange } from '../image/range.js';
import { type OptionValues, textOption } from './command.js';

/** The cells a command is about: --range, or all of the chip. Throws image.range. */
export function rangeOf(options: OptionValues, part: Part): Range {
  const text = textOption(options, 'range');
  return text === null ? wholeRange(part.cells) : parseRange(text, part.cells);
}
