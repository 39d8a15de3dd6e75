// romkiln book: every job so far; with --label what one chip should hold and how far it is worn; with --settle the end of a doubt.
import { findPart } from '../chip/chip-table.js';
import { ToolError } from '../ground/errors.js';
import type { BookRead } from '../job/book.js';
import { historyOf, mostWritten } from '../job/chip-history.js';
import { type CutOff, cutOffs } from '../job/cut-off.js';
import { bookText, damagedBookText, historyText, settledText } from '../report/book-text.js';
import { bookOf, keepOf } from './book-keeping.js';
import { type Execute, flagOption, type Invocation, textOption } from './command.js';

/** The one open writing whose id begins so. */
function openOf(all: readonly CutOff[], id: string): CutOff {
  const open = all.filter((c) => c.isOpen);
  const near = open.filter((c) => c.id.startsWith(id.toLowerCase()));
  if (near.length !== 1) throw new ToolError('job.nothing-to-settle', { id, open: open.map((c) => c.id) });
  return near[0]!;
}

/** The person knows what became of the chip, which the book cannot. */
function settle({ world, options, command }: Invocation, id: string, cutOff: readonly CutOff[]): number {
  const settled = openOf(cutOff, id);
  bookOf(world).add({ time: world.wallTime().toISOString(), settles: settled.id });
  world.stdout.write(
    flagOption(options, 'json') ? `${JSON.stringify({ command, settled: settled.id })}\n` : settledText(settled),
  );
  return 0;
}

export const execute: Execute = async (invocation) => {
  const { world, options, command } = invocation;
  const book = bookOf(world);
  const read: BookRead = book.read();
  world.stderr.write(damagedBookText(book.path, read));
  const label = textOption(options, 'label');
  const all = cutOffs(keepOf(world).list().records, read);
  const id = textOption(options, 'settle');
  if (id !== null) return settle(invocation, id, all);
  const asked = (job: { readonly label: string | null }): boolean => label === null || job.label === label;
  const entries = read.entries.filter(asked);
  const cutOff = all.filter(asked);
  const history = label === null ? null : historyOf(entries, cutOff);
  if (flagOption(options, 'json')) {
    const facts = {
      command,
      label,
      entries,
      cutOff,
      damaged: read.damaged,
      since: read.since,
      chip: history?.chip ?? null,
      content: history?.content ?? null,
      mostWritten: history ? history.mostWritten : mostWritten([...entries, ...cutOff]),
    };
    world.stdout.write(`${JSON.stringify(facts)}\n`);
    return 0;
  }
  world.stdout.write(bookText(entries, cutOff));
  if (label !== null && history)
    world.stdout.write(historyText(label, history, history.chip ? findPart(history.chip).endurance.value : 0));
  return 0;
};
