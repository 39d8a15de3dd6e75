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
  if (plan.writes.length === 0) return `${head}all ${countOf(plan.total, unit)} are right already; nothing to write.\n`;
  const cells = part.pageBytes.value === 1 ? ` (${countOf(plan.cells, 'cell')})` : '';
  return `${head}${plan.writes.length} of ${countOf(plan.total, unit)} to write${cells}, ${right} right already; at most about ${timeText(Math.round(writingMs(part, plan) * 1000))} of write cycles.\n`;
}

/** What a good verify proves, and what it cannot. */
export const notProvenText = 'Note: crossed writer wires cannot show here; see "romkiln rig --reference".\n';

/** The same for what was only read. */
export const readNotProvenText =
  'Note: crossed or open writer wires read other cells than asked for; see "romkiln rig --reference".\n';

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
    ? `The failed cells differ on D${line} alone${level === null ? '' : `, which reads ${level} there`}`
    : `D${line} reads ${level} in every cell, and no other data line is constant`;
  return `${what}: check this data line first. "romkiln rig --empty", with the socket empty, finds a stuck or shorted line; "romkiln suspects" judges a dump.`;
};

/** What a line with one level hid is not in the keep. */
const keptText = (keptId: string, oneLine: OneLine | null): string =>
  oneLine === null || oneLine.level === null
    ? `Old contents, as this writer read them, are kept: romkiln restore ${keptId}`
    : `Old contents are kept as ${keptId}, but D${oneLine.line} read ${oneLine.level} in every cell: "romkiln restore ${keptId}" would write ${oneLine.level} there.`;

/** Said after a burn. `keptId` is null where nothing was kept. */
export function burnOutcomeText({ part }: BurnNames, outcome: BurnOutcome, keptId: string | null): string {
  const unit = unitOf(part);
  const failing = outcome.tried - outcome.written;
  const lines = [
    `Wrote ${outcome.written} of ${countOf(outcome.total, unit)}${failing > 0 ? `; ${failing} failed` : ''}; ${outcome.skipped} ${outcome.skipped === 1 ? 'was' : 'were'} right already.`,
  ];
  if (outcome.interrupted)
    lines.push(
      'Interrupted after the write cycle in progress. Run the same command again to finish; it skips what is right.',
    );
  else if (outcome.verified)
    lines.push(
      `Verified: ${countOf(outcome.difference?.compared ?? 0, 'byte')} read back after the last write, all equal.`,
    );
  if (keptId !== null) lines.push(keptText(keptId, outcome.oneLine));
  if (outcome.failed.length > 0) {
    const shown = outcome.failed.slice(0, 4).map((f) => cellText(part.cells, f));
    lines.push(`Failed: ${shown.join('; ')}${outcome.failed.length > 4 ? '; ...' : ''}.`);
  }
  const untried = outcome.total - outcome.skipped - outcome.tried;
  if (untried > 0 && !outcome.interrupted)
    lines.push(
      `Stopped: ${outcome.late ? 'the chip was still busy' : `${unit}s failed in a row`}; the other ${untried} of ${outcome.total - outcome.skipped} were not attempted.`,
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
