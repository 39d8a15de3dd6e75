// romkiln book: every job so far; with --label what one chip should hold and how far it is worn.
import { findPart } from '../chip/chip-table.js';
import { mostWritten } from '../job/book.js';
import { cutOffBurns } from '../job/cut-off.js';
import { bookText, labelText } from '../report/book-text.js';
import { bookOf, bookPath, keepOf } from './book-keeping.js';
import { type Execute, flagOption, textOption } from './command.js';

export const execute: Execute = async ({ world, options, command }) => {
  const path = bookPath(world);
  const read = bookOf(world);
  for (const { line, column } of read.damaged)
    world.stderr.write(`${path}:${line}:${column}: this line of the book cannot be read; the others are used.\n`);
  const label = textOption(options, 'label');
  const asked = (job: { readonly label: string | null }): boolean => label === null || job.label === label;
  const entries = read.entries.filter(asked);
  const cutOff = cutOffBurns(keepOf(world).list().records, read.entries).filter(asked);
  // What a burn may have written at most counts: a chip is rather taken for worn than for new.
  const most = mostWritten([...entries, ...cutOff]);
  if (flagOption(options, 'json')) {
    world.stdout.write(
      `${JSON.stringify({ command, label, entries, cutOff, damaged: read.damaged, mostWritten: most })}\n`,
    );
    return 0;
  }
  world.stdout.write(bookText(entries, cutOff));
  if (label !== null) {
    const last = entries.at(-1) ?? cutOff.at(-1);
    const endurance = last ? findPart(last.chip).endurance.value : 0;
    world.stdout.write(labelText(label, entries, cutOff, most, endurance));
  }
  return 0;
};
