// romkiln book: every job so far; with --label what one chip should hold and how far it is worn.
import { findPart } from '../chip/chip-table.js';
import { mostWritten, readBook } from '../job/book.js';
import { bookText, labelText } from '../report/book-text.js';
import { bookPath } from './book-keeping.js';
import { type Execute, flagOption, textOption } from './command.js';

export const execute: Execute = async ({ world, options, command }) => {
  const path = bookPath(world);
  const { entries, damaged } = readBook(world.files, path);
  for (const { line, column } of damaged)
    world.stderr.write(`${path}:${line}:${column}: this line of the book cannot be read; the others are used.\n`);
  const label = textOption(options, 'label');
  const shown = label === null ? entries : entries.filter((e) => e.label === label);
  if (flagOption(options, 'json')) {
    world.stdout.write(
      `${JSON.stringify({ command, label, entries: shown, damaged, mostWritten: mostWritten(shown) })}\n`,
    );
    return 0;
  }
  world.stdout.write(bookText(shown));
  if (label !== null) {
    const last = shown.at(-1);
    const endurance = last ? findPart(last.chip).endurance.value : 0;
    world.stdout.write(labelText(label, shown, mostWritten(shown), endurance));
  }
  return 0;
};
