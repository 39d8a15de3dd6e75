// Burning, burning again, overwriting: the main rows, through the code of `romkiln burn`, in the bench's own time.
import { fullImage, onBench, type Seat, type WholeJob, wholeJob } from './job-on-bench.js';
import { figureRow, plainRow, type Row, type Section, timeRow } from './row.js';
import { noteViolations } from './violation-count.js';

/** Full burns behind adapters that answer so late; `most` is the ratio to be reached, null where none was set. */
export interface BurnWork {
  readonly seat: Omit<Seat, 'answerDelayMs'>;
  readonly delaysMs: readonly number[];
  readonly most: number | null;
}

export const burnWorks: readonly BurnWork[] = [
  { seat: { chip: 'AT28C256', cycleUs: 10_000 }, delaysMs: [0, 16], most: 1.04 },
  { seat: { chip: 'AT28C256', cycleUs: 5000 }, delaysMs: [0, 1, 16], most: 1.085 },
  { seat: { chip: 'AT28C256', cycleUs: 3000, baud: 1_000_000 }, delaysMs: [0, 16], most: 1.135 },
  { seat: { chip: 'AT28C256', cycleUs: 10_000, baud: 115_200 }, delaysMs: [0], most: 1.05 },
  { seat: { chip: 'AT28C16', cycleUs: 1000 }, delaysMs: [0], most: null },
  { seat: { chip: 'AT28C16E', cycleUs: 200 }, delaysMs: [0, 16], most: 1.15 },
  { seat: { chip: 'AT28C010', cycleUs: 10_000 }, delaysMs: [16], most: null },
];

export const seatText = ({ chip, cycleUs, baud = 500_000, answerDelayMs = 0 }: Seat): string =>
  `${chip}, cycle ${cycleUs >= 1000 ? `${cycleUs / 1000} ms` : `${cycleUs} us`}, ${baud} baud, answers ${answerDelayMs} ms late`;

const cellsOf = (seat: Seat): number =>
  seat.chip === 'AT28C010' ? 131_072 : seat.chip.startsWith('AT28C16') ? 2048 : 32_768;

const spentText = ({ spent, writeMs }: WholeJob): string => {
  const share = (ms: number): string => `${((100 * ms) / writeMs).toFixed(1)} %`;
  return `chip busy ${share(spent.chipMs)}, load window ${share(spent.windowMs)}, link ${share(spent.linkMs)}, firmware ${share(spent.firmwareMs)}`;
};

/** What every job of this file must be before its time counts. */
function checked(job: WholeJob): WholeJob {
  if (!job.verified) throw new Error('a burn did not verify');
  noteViolations(job.violations);
  return job;
}

export async function fullBurn(seat: Seat): Promise<WholeJob> {
  return checked(await onBench(seat, (session) => wholeJob(session, fullImage(cellsOf(seat), 3))));
}

export async function burnSection(): Promise<Section> {
  const rows: Row[] = [];
  for (const { seat, delaysMs, most } of burnWorks)
    for (const answerDelayMs of delaysMs) {
      const job = await fullBurn({ ...seat, answerDelayMs });
      rows.push(timeRow(`full burn, ${seatText({ ...seat, answerDelayMs })}`, job.limitMs, job.writeMs, most));
      rows.push(plainRow('  of it', spentText(job)));
      rows.push(plainRow('  burn and verify', `${((job.writeMs + job.verifyMs) / 1000).toFixed(3)} s`));
    }
  return {
    heading:
      "Burning a blank chip full of random bytes: from the first page line until the last page's answer leaves the writer",
    rows,
    notes: [
      'limit: the write cycles alone; the load window of 150 us a page, loading and comparing are in the ratio',
      'firmware: decoding, loading, seeing the end of a cycle, comparing; the host takes no bench time, its CPU stands below',
    ],
  };
}

/** The same bytes but for one page. */
const onePageChanged = (bytes: Uint8Array, page: number): Uint8Array => {
  const changed = bytes.slice();
  for (let cell = page * 64; cell < (page + 1) * 64; cell++) changed[cell]! ^= 0xff;
  return changed;
};

const c256 = { chip: 'AT28C256', cycleUs: 10_000 } as const;

/** Burning a 28C256 again when one of its 512 pages differs. */
export async function burnAgain(answerDelayMs: number): Promise<WholeJob> {
  const contents = fullImage(32_768, 4);
  const seat = { ...c256, contents, answerDelayMs };
  return checked(await onBench(seat, (session) => wholeJob(session, onePageChanged(contents, 300))));
}

/** Burning a 28C256 that is full of other bytes, with the keep on or off. */
export async function overwrite(cycleUs: number, keep: boolean): Promise<WholeJob> {
  const seat = { ...c256, cycleUs, contents: fullImage(32_768, 5) };
  return checked(await onBench(seat, (session) => wholeJob(session, fullImage(32_768, 6), { keep })));
}

export async function againSection(): Promise<Section> {
  const rows: Row[] = [];
  for (const delay of [0, 16]) {
    const again = await burnAgain(delay);
    const work = `burn again, one page of 512 changed, answers ${delay} ms late, to the last page's answer`;
    rows.push(figureRow(work, again.toLastAnswerMs / 1000, 's', 0.6));
  }
  for (const cycleUs of [10_000, 5000]) {
    const off = await overwrite(cycleUs, false);
    const on = await overwrite(cycleUs, true);
    const work = `overwrite a full chip, cycle ${cycleUs / 1000} ms, keep on; limit: keep off`;
    rows.push(timeRow(work, off.wholeMs, on.wholeMs, 1.45));
  }
  return {
    heading: 'AT28C256 burned over what is there, 500000 baud: sums, keep, write, final verify',
    rows,
    notes: ['limit of burning again: each cell read once, by the writer itself, for the sums'],
  };
}
