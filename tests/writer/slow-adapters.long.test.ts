// Adapters that do not bear the rate that they take: every job ends right, in little more than at the best fixed rate.
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/ground/random.js';
import type { RateMemory } from '../../src/writer/writer.js';
import type { Adapter } from '../mock/wire.js';
import { onMock } from './against-mock.js';

const image = seededRandom(9).bytes(32768);
const part = { cells: 32768, page: 64, cycleUs: 3000, codes: true };
const choice = { cells: 32768, page: 64, cycleUs: 10_000, windowUs: 150, poll: 'toggle', protection: 'codes' } as const;

interface Case {
  readonly name: string;
  readonly adapter: Adapter;
  readonly answerDelayMs?: number;
}

const cases: readonly Case[] = [
  { name: '128 characters of buffer, 48 kB/s', adapter: { bufferBytes: 128, bytesPerMs: 48 } },
  { name: '128 characters of buffer, 64 kB/s', adapter: { bufferBytes: 128, bytesPerMs: 64 } },
  { name: '128 characters of buffer, 80 kB/s', adapter: { bufferBytes: 128, bytesPerMs: 80 } },
  { name: '48 kB/s and 16 ms late', adapter: { bufferBytes: 128, bytesPerMs: 48 }, answerDelayMs: 16 },
  { name: '16 ms late', adapter: {}, answerDelayMs: 16 },
  { name: '30 % of the lines damaged from 500 000 baud on', adapter: { damage: { fromBaud: 500_000, percent: 30 } } },
];

const memory = (known: number | null = null): RateMemory & { last: number | null } => ({
  last: known,
  recall() {
    return this.last;
  },
  remember(baud) {
    this.last = baud;
  },
});

/** Burns and reads back the whole chip; resolves with the milliseconds of the line's own clock. */
async function job({ adapter, answerDelayMs = 0 }: Case, rate: number | RateMemory) {
  const { mock, writer, events } = await onMock({ chip: part, adapter, answerDelayMs }, null);
  const begin = mock.clock.now();
  try {
    if (typeof rate === 'number') await writer.setRate(rate);
    else await writer.chooseRate(undefined, rate);
    await writer.chip(choice);
    const blocks = Array.from({ length: 512 }, (_, i) => ({
      address: i * 64,
      bytes: image.subarray(i * 64, i * 64 + 64),
    }));
    const outcomes = await writer.writeBlocks(blocks);
    const isRight =
      outcomes.every((o) => o.kind === 'written') && Buffer.from(await writer.read(0, 32768)).equals(image);
    expect(mock.chip.cells).toEqual(image);
    return { ms: isRight ? mock.clock.now() - begin : Infinity, events, baud: writer.baud };
  } catch (error) {
    if (typeof rate !== 'number') throw error;
    return { ms: Infinity, events, baud: rate };
  }
}

describe.each(cases)('an adapter: $name', (given) => {
  it('when the rate is chosen then the job ends right in at most 1.3 times what the best fixed rate takes', async () => {
    const fixed: { baud: number; ms: number }[] = [];
    for (const baud of [115_200, 250_000, 500_000, 1_000_000]) fixed.push({ baud, ms: (await job(given, baud)).ms });
    const best = Math.min(...fixed.map(({ ms }) => ms));
    const known = memory();
    const first = await job(given, known);
    const second = await job(given, known);
    const left = first.events.filter((event) => event.kind === 'rate-left');
    if (process.env.ROMKILN_TABLE)
      process.stdout.write(
        `${given.name}: fixed ${fixed.map(({ baud, ms }) => `${baud} ${Math.round(ms)}`).join(', ')}; chosen ${Math.round(first.ms)} at ${first.baud} (${left.map((e) => JSON.stringify(e)).join()}), again ${Math.round(second.ms)} at ${second.baud}\n`,
      );
    expect(first.ms).toBeLessThan(1.3 * best);
    // What was learnt is kept.
    expect(second.ms).toBeLessThan(1.3 * best);
    expect(known.last).toBe(second.baud);
  });
});
