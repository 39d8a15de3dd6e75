// Holds the pace of the main rows of the bench table, on the emulated bench's own clock: the same numbers on every machine. Parts of
// a chip stand for the whole where every page costs the same; their share of the first line's way is what the slack is for.
import { describe, expect, it } from 'vitest';
import { type Burned, fullImage, onBench, type Seat, wholeJob, writeOnly } from '../../bench/job-on-bench.js';
import { readAll } from '../../bench/read-rows.js';

/** Burns the first `cells` of a blank chip; every byte must be there and no rule of the data sheet broken. */
async function burned(seat: Seat, cells: number, window?: number): Promise<Burned & { readonly ratio: number }> {
  const bytes = fullImage(cells, 3);
  return onBench(seat, async (session) => {
    const found = await writeOnly(session, bytes, window);
    expect(session.bench.truth.subarray(0, cells)).toEqual(bytes);
    expect(found.violations).toEqual([]);
    return { ...found, ratio: found.writeMs / found.limitMs };
  });
}

describe('the pace of a burn', () => {
  it('when a write cycle takes 10 ms then the link hides behind it, also when answers come 16 ms late', async () => {
    const { ratio } = await burned({ chip: 'AT28C256', cycleUs: 10_000, answerDelayMs: 16 }, 4096);
    expect(ratio).toBeLessThan(1.042);
  });

  it('when a write cycle takes 5 ms then the whole ratio stays below 1.09', async () => {
    for (const answerDelayMs of [0, 16]) {
      const { ratio } = await burned({ chip: 'AT28C256', cycleUs: 5000, answerDelayMs }, 8192);
      expect(ratio).toBeLessThan(1.09);
    }
  });

  it('when a write cycle takes 3 ms then 1000000 baud still hide behind it', async () => {
    const { ratio } = await burned({ chip: 'AT28C256', cycleUs: 3000, baud: 1_000_000, answerDelayMs: 16 }, 8192);
    expect(ratio).toBeLessThan(1.145);
  });

  it('when the line runs at 115200 baud then a write cycle of 10 ms still hides it', async () => {
    const { ratio } = await burned({ chip: 'AT28C256', cycleUs: 10_000, baud: 115_200 }, 4096);
    expect(ratio).toBeLessThan(1.055);
  });

  it('when a chip is written cell by cell then its own cycles set the pace', async () => {
    expect((await burned({ chip: 'AT28C16E', cycleUs: 200 }, 2048)).ratio).toBeLessThan(1.155);
    expect((await burned({ chip: 'AT28C16', cycleUs: 1000 }, 512)).ratio).toBeLessThan(1.04);
  });

  it('when only one block is outstanding then the link shows: the window is what hides it', async () => {
    const seat = { chip: 'AT28C256', cycleUs: 5000, answerDelayMs: 16 };
    const alone = await burned(seat, 2048, 1);
    const windowed = await burned(seat, 2048);
    expect(alone.ratio).toBeGreaterThan(3 * windowed.ratio);
    expect(alone.spent.linkMs).toBeGreaterThan(alone.spent.chipMs);
    expect(windowed.spent.linkMs).toBeLessThan(0.02 * windowed.writeMs);
  });

  it.each([115_200, 250_000, 500_000, 1_000_000])(
    'when the line runs at %i baud then no rule of the data sheet is broken',
    async (baud) => {
      for (const [chip, cycleUs, cells] of [
        ['AT28C64B', 1000, 2048],
        ['AT28C010', 1000, 2048],
        ['AT28C16E', 200, 512],
      ] as const) {
        await burned({ chip, cycleUs, baud }, cells);
      }
    },
  );
});

describe('the pace of the whole job', () => {
  const contents = fullImage(8192, 4);
  const job = (wanted: Uint8Array, keep: boolean) =>
    onBench({ chip: 'AT28C64B', cycleUs: 5000, contents }, async (session) => {
      const done = await wholeJob(session, wanted, { keep });
      expect(done.verified).toBe(true);
      expect(done.violations).toEqual([]);
      return done;
    });

  it('when one page has changed then each cell is read once and one page is written', async () => {
    const again = await job(
      contents.map((byte, cell) => (cell >> 6 === 77 ? byte ^ 0x5a : byte)),
      true,
    );
    expect(again.writeCycles).toBe(1);
    // A quarter of the 0.6 s of a chip four times as large.
    expect(again.toLastAnswerMs).toBeLessThan(150);
  });

  it('when a full chip is overwritten then keeping what was there costs less than half of the job', async () => {
    const wanted = fullImage(8192, 6);
    const off = await job(wanted, false);
    const on = await job(wanted, true);
    expect(on.wholeMs / off.wholeMs).toBeLessThan(1.45);
    expect(on.wholeMs).toBeGreaterThan(off.wholeMs);
  });
});

describe('the pace of reading', () => {
  it('when a chip is read at 500000 baud then the line is the limit, and base64 what it carries', async () => {
    const { ms, limitMs, violations } = await readAll({ chip: 'AT28C64B', baud: 500_000, blank: false });
    expect(violations).toEqual([]);
    expect(ms / limitMs).toBeLessThan(1.46);
    expect(ms / limitMs).toBeGreaterThan(4 / 3);
  });
});
