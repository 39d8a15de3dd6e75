// The history of one chip: what it should hold after all that the book tells, and how far it is worn.
import { parts } from '../chip/chip-table.js';
import type { BookEntry } from './book.js';
import type { CutOff } from './cut-off.js';
import type { OutcomeKind } from './outcome.js';
import { isAmong, rangesOf } from './page-list.js';

type Job = Pick<BookEntry, 'time' | 'command' | 'chip' | 'pageBytes'>;

const reading: readonly OutcomeKind[] = ['same', 'differs', 'dumped'];
const onlyReads = (job: Job | BookEntry): boolean => 'outcome' in job && reading.includes(job.outcome.kind);

const burning: readonly OutcomeKind[] = ['verified', 'not-verified', 'interrupted', 'broken-off'];
/** A burn is what writes an image; a test has none. */
export const isBurn = ({ outcome, image }: BookEntry): boolean => image !== null && burning.includes(outcome.kind);

/** The last job that was to write; where none was, the last one. */
function lastOf(jobs: readonly Job[]): Job | null {
  const writing = jobs.filter((job) => !onlyReads(job));
  const among = writing.length > 0 ? writing : jobs;
  return among.reduce<Job | null>((last, job) => (last === null || job.time >= last.time ? job : last), null);
}

const membersNamed = (chip: string): readonly string[] => parts.find((p) => p.name === chip)?.members ?? [chip];

/** One label on two parts is two chips, and their pages have nothing in common; but a family's name may stand for the part. */
const mayBeOne = (a: Job, b: Job): boolean =>
  a.chip === b.chip ||
  (a.pageBytes === b.pageBytes && membersNamed(a.chip).some((name) => membersNamed(b.chip).includes(name)));

export interface Wear {
  readonly page: number;
  readonly times: number;
}

/** How often the most-written page was written, and which one it is; counted from every job in the list. */
export function mostWritten(jobs: readonly Pick<BookEntry, 'pages'>[]): Wear | null {
  // Each range is a step up at its start and a step down behind its end; walking the steps in order finds the highest place.
  const steps = new Map<number, number>();
  for (const [from, to] of jobs.flatMap((job) => rangesOf(job.pages))) {
    steps.set(from, (steps.get(from) ?? 0) + 1);
    steps.set(to + 1, (steps.get(to + 1) ?? 0) - 1);
  }
  let times = 0;
  let best: Wear | null = null;
  for (const [page, step] of [...steps].sort((a, b) => a[0] - b[0])) {
    times += step;
    if (times > (best?.times ?? 0)) best = { page, times };
  }
  return best;
}

/** A verify after the burn that found other bytes; `ofBurned`: it compared with the image that was burned. */
export interface LaterVerify {
  readonly verify: BookEntry;
  readonly ofBurned: boolean;
}

/** What a chip should hold, as far as the book tells. */
export type Content =
  | { readonly kind: 'never-burned' }
  | { readonly kind: 'cut-off'; readonly by: CutOff }
  /** A burn that was not verified, or another job that wrote and did not leave the cells as they were. */
  | { readonly kind: 'unknown'; readonly by: BookEntry }
  /** `whole`: the burn asked for every page of the chip; else for `pages` alone. */
  | {
      readonly kind: 'known';
      readonly burn: BookEntry;
      readonly whole: boolean;
      readonly pages: string;
      readonly later: LaterVerify | null;
    };

export interface ChipHistory {
  /** The part that the label stood for last; null where no job bears the label. */
  readonly chip: string | null;
  /** Other parts that bore the label. */
  readonly others: readonly string[];
  /** What is counted below: the jobs with this part. */
  readonly entries: readonly BookEntry[];
  readonly cutOff: readonly CutOff[];
  readonly content: Content;
  readonly mostWritten: Wear | null;
}

/** Wrote without burning an image, and did not leave the cells as they were. */
const leavesDoubt = ({ outcome, image }: BookEntry): boolean =>
  outcome.kind === 'not-put-back' ||
  (outcome.kind === 'broken-off' && image === null && !outcome.putBack) ||
  (outcome.kind === 'codes-sent' && outcome.changed > 0);

/** What a verify of another image found counts only where that of this one is missing. */
function laterVerify(burn: BookEntry, later: readonly BookEntry[]): LaterVerify | null {
  const isOfBurned = (e: BookEntry): boolean => e.image?.sha256 === burn.image?.sha256;
  const verifies = later.filter((e) => e.outcome.kind === 'same' || e.outcome.kind === 'differs');
  const verify = verifies.findLast(isOfBurned) ?? verifies.at(-1);
  return verify?.outcome.kind === 'differs' ? { verify, ofBurned: isOfBurned(verify) } : null;
}

function contentOf(entries: readonly BookEntry[], cutOff: readonly CutOff[]): Content {
  const at = entries.findLastIndex(isBurn);
  const last = entries[at];
  const cut = cutOff.at(-1);
  if (cut && (!last || cut.time > last.time)) return { kind: 'cut-off', by: cut };
  const later = entries.slice(at + 1);
  const spoiled = later.findLast(leavesDoubt);
  if (spoiled && last) return { kind: 'unknown', by: spoiled };
  if (!last) return { kind: 'never-burned' };
  if (last.outcome.kind !== 'verified') return { kind: 'unknown', by: last };
  const cells = parts.find((p) => p.name === last.chip)?.cells ?? 0;
  const { pages } = last.outcome;
  const whole = isAmong(`0-${Math.max(0, cells / last.pageBytes - 1)}`, pages);
  return { kind: 'known', burn: last, whole, pages, later: laterVerify(last, later) };
}

/** `entries` and `cutOff`: all that bear one label. What a job may have written at most counts: a chip is rather taken for worn than for new. */
export function historyOf(entries: readonly BookEntry[], cutOff: readonly CutOff[]): ChipHistory {
  const jobs = [...entries, ...cutOff];
  const meant = lastOf(jobs);
  const isMeant = (job: Job): boolean => meant === null || mayBeOne(job, meant);
  const ofChip = { entries: entries.filter(isMeant), cutOff: cutOff.filter(isMeant) };
  return {
    chip: meant?.chip ?? null,
    others: [...new Set(jobs.filter((job) => !isMeant(job)).map((job) => job.chip))],
    ...ofChip,
    content: contentOf(ofChip.entries, ofChip.cutOff),
    mostWritten: mostWritten([...ofChip.entries, ...ofChip.cutOff]),
  };
}
