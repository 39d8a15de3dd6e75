import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import { openBenchLink } from '../../src/emulator/bench-link.js';
import { newBenchState } from '../../src/emulator/bench-state.js';
import { EmulatedBench } from '../../src/emulator/emulated-bench.js';
import { crc32IsoHdlc } from '../../src/ground/check-sums.js';
import { seededRandom } from '../../src/ground/random.js';
import { chipChoice } from '../../src/writer/chip-choice.js';
import { openWriter, type WriteBlock, type WriterEvent } from '../../src/writer/writer.js';

const firmware = 'firmware/romkiln-writer.hex';
const part = findPart('AT28C64B');
const image = seededRandom(21).bytes(8192);
const cycleUs = 3000;
const blocks: WriteBlock[] = Array.from({ length: 128 }, (_, i) => ({
  address: i * 64,
  bytes: image.slice(i * 64, i * 64 + 64),
}));

async function onBench(options: { readonly answerDelayMs?: number } = {}) {
  const state = newBenchState({ part, cycleUs, contents: seededRandom(4).bytes(8192), ...options });
  const bench = new EmulatedBench({ state, firmware: readFileSync(firmware, 'latin1') });
  const events: WriterEvent[] = [];
  const link = await openBenchLink(bench, { baud: 115200, lineMax: 4096 });
  const writer = await openWriter(link, { onEvent: (event) => events.push(event) });
  await writer.chooseRate([500_000]);
  await writer.chip(chipChoice(part));
  return { bench, link, writer, events };
}

describe.skipIf(!existsSync(firmware))('the real firmware on the emulated bench', () => {
  it('when a whole chip is burned behind an adapter that answers late then the chip sets the pace, and it reads back equal', async () => {
    const { bench, link, writer } = await onBench({ answerDelayMs: 16 });
    expect(writer.baud).toBe(500_000);
    expect(await writer.presence(0)).not.toBe(0xff);
    const begin = link.clock.now();
    const outcomes = await writer.writeBlocks(blocks);
    const spentMs = link.clock.now() - begin;
    expect(outcomes.every((o) => o.kind === 'written')).toBe(true);
    expect(bench.truth).toEqual(image);
    expect(await writer.read(0, 8192)).toEqual(image);
    expect(await writer.sums(0, 8192, 64)).toEqual(blocks.map((b) => crc32IsoHdlc(b.bytes)));
    expect(writer.counts).toMatchObject({ resent: 0, garbled: 0, refusedLines: 0 });
    expect(bench.violations).toEqual([]);
    // 128 cycles of 3 ms; the window of 150 us, loading and comparing come on top, the adapter's 16 ms once.
    expect(spentMs - 16).toBeLessThan(1.2 * 128 * (cycleUs / 1000));
    await writer.close();
  });

  it('when the number of a block comes round again then the very same block is written, not answered from memory', async () => {
    const { bench, writer } = await onBench();
    await writer.writeBlocks([{ address: 0, bytes: Uint8Array.of(0xaa) }]);
    await writer.writeBlocks([{ address: 0, bytes: Uint8Array.of(0x55) }]);
    // Numbers go from 1 to 255: with these reads the next one is that of the first block.
    for (let reads = 0; reads < 253; reads++) await writer.read(0, 1);
    expect(await writer.writeBlocks([{ address: 0, bytes: Uint8Array.of(0xaa) }])).toEqual([{ kind: 'written' }]);
    expect(bench.truth[0]).toBe(0xaa);
    await writer.close();
  });

  it('when the supply fails in the middle of a write cycle then the burn goes on by itself and ends right', async () => {
    const { bench, writer, events } = await onBench();
    bench.arrange([{ kind: 'power-cut', offMs: 20, at: { writeCycle: 40, afterUs: 1000 } }]);
    const outcomes = await writer.writeBlocks(blocks);
    expect(outcomes.every((o) => o.kind === 'written')).toBe(true);
    expect(bench.truth).toEqual(image);
    expect(events).toEqual([{ kind: 'restarted', restarts: 1 }]);
    expect(writer.baud).toBe(500_000);
    await writer.close();
  });
});
