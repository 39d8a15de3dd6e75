// What a burn is about to do and what came of it, as sentences for people and as facts for programs.
import type { Part } from '../chip/part.js';
import type { OneLine } from '../image/one-line.js';
import type { Range } from '../image/range.js';
import type { BurnOutcome, FailedCell } from '../job/burn.js';
import type { BurnPlan } from '../job/burn-plan.js';
import { writingMs } from '../job/burn-plan.js';
import { addressText, byteText, countOf, timeText } from './quantity.js';

export interface BurnNames {
  readonly image: string;
  readonly part: Part;
  readonly port: string;
}

const unitOf = (part: Part): string => (part.pageBytes.value === 1 ? 'block' : 'page');

/** Said before the first write. */
export function burnPlanText({ image, part, port }: BurnNames, plan: BurnPlan): string {
  const unit = unitOf(part);
  const right = plan.total - plan.writes.length;
  const head = `${image} into ${part.name} on ${port}: `;
  if (plan.writes.length === 0) return `${head}all ${countOf(plan.total, unit)} already right, nothing to write.\n`;
  const cells = part.pageBytes.value === 1 ? ` (${countOf(plan.cells, 'cell')})` : '';
  return `${head}${plan.writes.length} of ${countOf(plan.total, unit)} to write${cells}, ${right} already right; at most about ${timeText(Math.round(writingMs(part, plan) * 1000))} of write cycles.\n`;
}

/** What a good verify proves, and what it cannot. */
export const notProvenText =
  'Not proven: this writer\'s own wiring. It wrote and read through the same wires, so lines crossed there cancel out; "romkiln rig --reference", with a chip burned elsewhere, finds them.\n';

/** The same for what was only read. */
export const readNotProvenText =
  'Not proven: this writer\'s own wiring. With crossed or open lines other cells are read than are asked for; "romkiln rig --reference", with a chip burned elsewhere, finds them.\n';

/** Ranges of addresses as text, both ends included. */
export const rangesText = (ranges: readonly Range[], cells: number): string =>
  ranges
    .map(({ from, to }) =>
      from === to ? addressText(from, cells) : `${addressText(from, cells)}..${addressText(to, cells)}`,
    )
    .join(', ');

const cellText = (cells: number, f: FailedCell): string =>
  `${addressText(f.address, cells)} wanted ${byteText(f.wanted)}, reads ${byteText(f.actual)}${f.before === f.actual ? ' (as before)' : ''}`;

/** What a difference of one data line points to, and what shows it. */
const oneLineText = ({ line, level, alone }: OneLine): string => {
  const what = alone
    ? `What did not take differs on D${line} alone${level === null ? '' : `, which reads ${level} there`}`
    : `D${line} reads ${level} in every cell, and is the only data line that reads one level`;
  return `${what}: look at this data line first. "romkiln rig --empty", with the chip out of its socket, shows one that is stuck or joined with another; "romkiln suspects" judges a dump.`;
};

/** What a line with one level hid is not in the keep. */
const keptText = (keptId: string, oneLine: OneLine | null): string =>
  oneLine === null || oneLine.level === null
    ? `What was there before is in the keep: "romkiln restore ${keptId}" brings it back.`
    : `What was there before is in the keep under ${keptId}, as it was read: where D${oneLine.line} reads ${oneLine.level} whatever a cell holds, the keep has ${oneLine.level} for it, and so would "romkiln restore ${keptId}" write it.`;

/** Said after a burn. `keptId` is null where nothing was kept. */
export function burnOutcomeText({ part }: BurnNames, outcome: BurnOutcome, keptId: string | null): string {
  const unit = unitOf(part);
  const failing = outcome.tried - outcome.written;
  const lines = [
    `Written: ${countOf(outcome.written, unit)}${failing > 0 ? `, and ${failing} that did not take` : ''}; already right: ${outcome.skipped} of ${outcome.total}.`,
  ];
  if (outcome.interrupted)
    lines.push(
      'Interrupted: the write cycle in progress was ended; run the same command again to finish, what is right is skipped.',
    );
  else if (outcome.verified)
    lines.push(
      `Verified: ${countOf(outcome.difference?.compared ?? 0, 'byte')} read back after the last write, all equal.`,
    );
  if (keptId !== null) lines.push(keptText(keptId, outcome.oneLine));
  if (outcome.failed.length > 0) {
    const shown = outcome.failed.slice(0, 4).map((f) => cellText(part.cells, f));
    lines.push(`Did not take: ${shown.join('; ')}${outcome.failed.length > 4 ? '; ...' : ''}.`);
  }
  const untried = outcome.total - outcome.skipped - outcome.tried;
  if (untried > 0 && !outcome.interrupted)
    lines.push(
      `Stopped early, since ${outcome.late ? 'the chip was still at work' : `one ${unit} after the other did not take`}: ${untried} of ${outcome.total - outcome.skipped} were not tried.`,
    );
  if (outcome.oneLine) lines.push(oneLineText(outcome.oneLine));
  return `${lines.join('\n')}\n${outcome.verified ? notProvenText : ''}`;
}

/** Facts for --json, in the shape that every burn has. */
export const burnFacts = (command: string, names: BurnNames, outcome: BurnOutcome, more: object): object => ({
  command,
  chip: names.part.name,
  image: names.image,
  port: names.port,
  verified: outcome.verified,
  interrupted: outcome.interrupted,
  pages: { total: outcome.total, written: outcome.written, skipped: outcome.skipped },
  failed: outcome.failed,
  oneLine: outcome.oneLine,
  beside: outcome.beside,
  inDoubt: outcome.inDoubt,
  ...more,
});
