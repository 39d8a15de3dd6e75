import { describe, expect, it } from 'vitest';
import type { Part } from '../../src/chip/part.js';
import type { WiringFault } from '../../src/chip/wiring-fault.js';
import { ToolError } from '../../src/ground/errors.js';
import {
  cyclesAtMost,
  type RigStep,
  ScratchBrokenOff,
  type ScratchTests,
  tryScratchChip,
} from '../../src/job/scratch-chip.js';
import { chipChoice } from '../../src/writer/chip-choice.js';
import type { WriteBlock } from '../../src/writer/writer.js';
import { cellPart, pagePart, type SeatedOptions, seated, withChanged } from './seated.js';

const write = (address: number, byte: number): RigStep => ({ kind: 'write', address, byte });
const read = (address: number, expected: number | null = null): RigStep => ({ kind: 'read', address, expected });

const tests: ScratchTests = {
  dataBus: [write(0, 0x01), read(0, 0x01), write(0, 0x80), read(0, 0x80)],
  addressBus: [write(0, 0xaa), write(4, 0x55), read(0, 0xaa), read(4, 0x55), read(6)],
  witness: (before) => before.map((byte) => ~byte),
  codeCells: [0x155, 0x2aa, 0x155],
};

async function scratched(options: SeatedOptions = {}) {
  const on = await seated(options);
  const part = options.part ?? pagePart;
  // As the writer reads it: on a faulty rig that is not what the chip holds.
  const asRead = await on.writer.read(0, part.cells);
  return { ...on, found: await tryScratchChip(on.writer, part, asRead, tests) };
}

/** The error with which the check breaks off. */
async function brokenOff(check: Promise<unknown>): Promise<ScratchBrokenOff> {
  const error = await check.then(
    () => null,
    (reason: unknown) => reason,
  );
  expect(error).toBeInstanceOf(ScratchBrokenOff);
  return error as ScratchBrokenOff;
}

describe('the tests with a scratch chip', () => {
  it('when wiring and chip are sound then every test reads what it wrote, and the chip reads as before', async () => {
    const { found, chip, before } = await scratched();
    expect(found).toMatchObject({
      readings: {
        dataBus: [0x01, 0x80],
        addressBus: [0xaa, 0x55, before[6]],
        protection: { refusedWhenOn: true, tookWhenOff: true },
      },
      changed: [],
      refusesWrites: false,
    });
    expect(chip.cells).toEqual(before);
    expect(chip.protected).toBe(false);
  });

  it('when a page is written as a witness then it is one whose address alternates, and all of it is told', async () => {
    const { found, before } = await scratched();
    // 1010101010 in the ten lines of this chip, cut to its page.
    const address = 0b1010000000;
    const page = before.slice(address, address + 64);
    const inverted = page.map((byte) => ~byte);
    expect(found.readings.pageWitness).toEqual({ address, before: page, wanted: inverted, actual: inverted });
  });

  it('when the part has neither pages nor codes then these tests are left out, and the chip reads as before', async () => {
    const { found, chip, before } = await scratched({ part: cellPart });
    expect(found.readings).toEqual({ dataBus: [1, 0x80], addressBus: [0xaa, 0x55, before[6]] });
    expect(found.changed).toEqual([]);
    expect(chip.cells).toEqual(before);
  });

  it('when the bus tests read otherwise than on sound wiring then no page and no code is sent, and every cell is as before', async () => {
    const { found, chip, before } = await scratched({ wiring: [{ kind: 'stuck', line: 'A2', level: 0 }] });
    expect(found.readings).toEqual({ dataBus: [0x01, 0x80], addressBus: [0x55, 0x55, expect.anything()] });
    expect(found.changed).toEqual([]);
    expect(chip.cells).toEqual(before);
  });

  it('when a page goes astray since lines are crossed then its cells come back one by one', async () => {
    // A5 chooses a cell of a page of 64, A6 a page.
    const crossed: WiringFault = { kind: 'crossed', lines: ['A5', 'A6'] };
    const { found, chip, before } = await scratched({ wiring: [crossed] });
    const { wanted, actual } = found.readings.pageWitness!;
    expect(actual).not.toEqual(wanted);
    expect(found.changed).toEqual([]);
    expect(chip.cells).toEqual(before);
  });

  it('when the chip is protected then it took no write, and no code is sent that would unlock it', async () => {
    const { found, chip, before, mock } = await scratched({ chip: { protected: true } });
    expect(found).toMatchObject({ refusesWrites: true, changed: [] });
    expect(found.readings).toEqual({ dataBus: [before[0], before[0]] });
    expect(mock.counts().cycles).toBe(2);
    expect(chip.protected).toBe(true);
    expect(chip.cells).toEqual(before);
  });

  it('when the cell held one of the test bytes before then the chip does not refuse all the same', async () => {
    const { found } = await scratched({ chip: { contents: 0x01 } });
    expect(found).toMatchObject({ readings: { dataBus: [0x01, 0x80] }, refusesWrites: false, changed: [] });
  });

  it('when the codes do not reach the chip in order then writes are not refused after them', async () => {
    const { found, chip, before } = await scratched({ chip: { codes: false } });
    expect(found.readings.protection).toEqual({ refusedWhenOn: false, tookWhenOff: true });
    expect(found.changed).toEqual([]);
    expect(chip.cells).toEqual(before);
  });

  it('when the chip stays closed after the codes that open it then that is told', async () => {
    const on = await seated();
    on.writer.unprotect = async () => {};
    const found = await tryScratchChip(on.writer, pagePart, on.before, tests);
    expect(found.readings.protection).toEqual({ refusedWhenOn: true, tookWhenOff: false });
  });
});

describe('what a check may write at most', () => {
  const most = (part: Part) => cyclesAtMost(part, tests);
  /** Cycles that are not among those at most, each counted. */
  const beyond = (cycles: readonly number[], part: Part): number[] => {
    const left = [...most(part)];
    return cycles.filter((cycle) => {
      const at = left.indexOf(cycle);
      if (at >= 0) left.splice(at, 1);
      return at < 0;
    });
  };

  it('when the wiring is sound then no page, and no cell, is written more often', async () => {
    for (const options of [{}, { part: cellPart }, { chip: { codes: false } }, { chip: { contents: 0xff } }]) {
      const { found } = await scratched(options);
      expect(beyond(found.cycles, 'part' in options ? options.part : pagePart)).toEqual([]);
    }
  });

  it('when it is stopped anywhere then that and putting back is not more either', async () => {
    for (const part of [pagePart, cellPart])
      for (let steps = 1; steps < tests.dataBus.length + tests.addressBus.length; steps += 1) {
        const on = await seated({ part });
        let left = steps;
        const signal = {
          get aborted() {
            return left-- <= 0;
          },
        } as AbortSignal;
        const { cycles, changed } = await brokenOff(tryScratchChip(on.writer, part, on.before, tests, { signal }));
        expect([changed, beyond(cycles, part)]).toEqual([[], []]);
      }
  });

  it('when a write can go anywhere then every page is among them', () => {
    expect([...new Set(most(pagePart))].sort((a, b) => a - b)).toEqual(Array.from({ length: 16 }, (_, i) => i));
    expect(new Set(most(cellPart)).size).toBe(512);
    // Two writes of the data bus test, one of the address bus test, and one that puts the cell back.
    expect(most(cellPart).filter((cell) => cell === 0)).toHaveLength(4);
  });
});

describe('putting the chip back', () => {
  const idle: ScratchTests = { ...tests, dataBus: [read(0)], addressBus: [read(1)] };

  it('when the chip reads as before at once then nothing is written, else only stretches that read otherwise', async () => {
    const on = await seated({ part: cellPart });
    const { writeBlocks } = on.writer;
    const written: number[] = [];
    on.writer.writeBlocks = (blocks, options) => {
      written.push(...blocks.map((b) => b.address));
      return writeBlocks.call(on.writer, blocks, options);
    };
    const found = await tryScratchChip(on.writer, cellPart, withChanged(on.before), idle);
    expect([found.changed, written, found.cycles]).toEqual([[], [], []]);
    on.chip.cells[200]! ^= 1;
    on.chip.cells[203]! ^= 1;
    on.chip.cells[511]! ^= 1;
    const again = await tryScratchChip(on.writer, cellPart, on.before, idle);
    expect([again.changed, written, again.cycles]).toEqual([[], [200, 511], [200, 203, 511]]);
    expect(on.chip.cells).toEqual(on.before);
  });

  it('when a cell comes back only at the last try then the chip is put back', async () => {
    const on = await seated({ part: cellPart });
    const { writeBlocks } = on.writer;
    let rounds = 0;
    on.writer.writeBlocks = async (blocks, options) => {
      const outcomes = await writeBlocks.call(on.writer, blocks, options);
      if (++rounds < 3) on.chip.cells[300]! ^= 1;
      return outcomes;
    };
    on.chip.cells[200]! ^= 1;
    expect((await tryScratchChip(on.writer, cellPart, on.before, idle)).changed).toEqual([]);
    expect(rounds).toBe(3);
  });

  it('when cells do not come back then they are told, neighbours in one stretch', async () => {
    const on = await seated();
    const { writeBlocks } = on.writer;
    on.writer.writeBlocks = (...args) => {
      const wrong = (address: number) =>
        ({ kind: 'weak-cell', address, bit: 0, level: on.before[address]! & 1 ? 0 : 1 }) as const;
      on.chip.faults = [wrong(6), wrong(7), wrong(40)];
      return writeBlocks.call(on.writer, ...args);
    };
    expect((await tryScratchChip(on.writer, pagePart, on.before, tests)).changed).toEqual([
      { from: 6, to: 7 },
      { from: 40, to: 40 },
    ]);
  });
});

describe('the write cycles of the check', () => {
  it('when pages are written then every cycle that the chip ran for data is counted with its page', async () => {
    const { found, mock } = await scratched();
    // One cycle for each of the two codes stores nothing.
    expect(found.cycles.length).toBe(mock.counts().cycles - 2);
    // Page 0: four writes of the bus tests, put back, two of the witness of the codes, put back; page 10: the witness, put back.
    expect([...found.cycles].sort((a, b) => a - b)).toEqual([...new Array(8).fill(0), 10, 10]);
  });

  it('when the codes went in as data then their pages count too', async () => {
    const { found } = await scratched({ chip: { codes: false } });
    expect(found.cycles).toContain(0x155 >> 6);
  });

  it('when there is no page mode then a cell that held its byte already costs nothing', async () => {
    const { found, mock } = await scratched({ part: cellPart, chip: { contents: 0x01 } });
    expect(found.cycles).toEqual([0, 0, 4, 0, 4]);
    expect(mock.counts().cycles).toBe(5);
  });
});

describe('a check that breaks off', () => {
  it('when the writer is lost in the middle then nobody knows what the chip holds, and that is told', async () => {
    const on = await seated();
    const { writeBlocks } = on.writer;
    let count = 0;
    on.writer.writeBlocks = (...args) => {
      if (++count === 3) on.mock.unplug();
      return writeBlocks.call(on.writer, ...args);
    };
    const broken = await brokenOff(tryScratchChip(on.writer, pagePart, on.before, tests));
    expect(broken).toMatchObject({ reason: { code: 'link.gone' }, changed: null, cycles: [0, 0, 0] });
  });

  it('when a test fails in the middle then the chip is put back all the same', async () => {
    const on = await seated();
    const reason = new Error('no witness');
    const failing: ScratchTests = {
      ...tests,
      witness: () => {
        throw reason;
      },
    };
    const broken = await brokenOff(tryScratchChip(on.writer, pagePart, on.before, failing));
    expect(broken).toMatchObject({ reason, changed: [] });
    expect(on.chip.cells).toEqual(on.before);
  });

  it('when it is interrupted then no further test is made, and the chip is put back', async () => {
    const on = await seated();
    const { writeBlocks } = on.writer;
    const interrupt = new AbortController();
    on.writer.writeBlocks = (...args) => {
      interrupt.abort();
      return writeBlocks.call(on.writer, ...args);
    };
    const options = { signal: interrupt.signal };
    const broken = await brokenOff(tryScratchChip(on.writer, pagePart, on.before, tests, options));
    expect(broken).toMatchObject({ reason: { code: 'writer.stopped', exit: 130 }, changed: [], cycles: [0, 0] });
    expect(on.chip.cells).toEqual(on.before);
  });
});

it('when the writer restarts in the middle of the tests then nothing is judged by them, and the chip is put back', async () => {
  const on = await seated();
  const { writeBlocks } = on.writer;
  let count = 0;
  on.writer.writeBlocks = (...args) => {
    if (++count === 3) on.mock.reset();
    return writeBlocks.call(on.writer, ...args);
  };
  const broken = await brokenOff(tryScratchChip(on.writer, pagePart, on.before, tests));
  expect(broken).toMatchObject({ reason: { code: 'job.restarted-in-check', exit: 4 }, changed: [] });
  expect(on.chip.cells).toEqual(on.before);
});

it('when the writer is lost behind the codes that protect then it is known that the chip may be protected', async () => {
  const on = await seated();
  const { protect } = on.writer;
  on.writer.protect = async () => {
    await protect.call(on.writer);
    on.mock.unplug();
  };
  const broken = await brokenOff(tryScratchChip(on.writer, pagePart, on.before, tests));
  expect(broken).toMatchObject({ reason: { code: 'link.gone' }, changed: null, maybeProtected: true });
  expect(on.chip.protected).toBe(true);
});

describe('a chip that is at work still', () => {
  const patiently = (part: Part): Part => ({ ...part, polling: { ...part.polling, value: 'limit' } });

  it.each([
    ['pages', pagePart],
    ['pages, their cycles waited out', patiently(pagePart)],
    ['cells', cellPart],
    ['cells, their cycles waited out', patiently(cellPart)],
  ])('when it is slower than its row (%s) then no wire is judged by it, and it is put back', async (_, part) => {
    const on = await seated({ part, chip: { cycleUs: Math.max(4 * part.cycleMaxUs.value, 8000) } });
    const broken = await brokenOff(tryScratchChip(on.writer, part, on.before, tests));
    expect(broken).toMatchObject({ reason: { code: 'job.slow-chip', exit: 4 }, changed: [], cycles: [0, 0] });
    expect(on.chip.cells).toEqual(on.before);
  });

  it.each([
    ['pages', pagePart],
    ['pages, their cycles waited out', patiently(pagePart)],
    ['cells', cellPart],
    ['cells, their cycles waited out', patiently(cellPart)],
  ])(
    'when it comes ready before anybody can ask it again (%s) then it is known as too slow by its cell',
    async (_, part) => {
      const { windowUs, cycleUs } = chipChoice(part);
      const on = await seated({ part, chip: { cycleUs: windowUs + cycleUs + 100 } });
      const broken = await brokenOff(tryScratchChip(on.writer, part, on.before, tests));
      expect(broken).toMatchObject({ reason: { code: 'job.slow-chip' }, changed: [], cycles: [0, 0] });
      expect(on.chip.cells).toEqual(on.before);
    },
  );

  it.each([
    ['pages', pagePart],
    ['pages, their cycles waited out', patiently(pagePart)],
    ['cells', cellPart],
  ])('when it never comes ready (%s) then it is written once and no more', async (_, part) => {
    const on = await seated({ part, chip: { faults: [{ kind: 'never-ready' }] } });
    const broken = await brokenOff(tryScratchChip(on.writer, part, on.before, tests));
    expect(broken).toMatchObject({ reason: { code: 'job.still-busy', exit: 4 }, changed: null, cycles: [0] });
    expect(on.mock.counts().cycles).toBe(1);
  });

  it('when the codes find it too slow then it is left unprotected and as it was', async () => {
    const on = await seated();
    const { protect } = on.writer;
    on.writer.protect = async () => {
      await protect.call(on.writer);
      throw new ToolError('writer.never-ready', { address: '0x0155' });
    };
    const broken = await brokenOff(tryScratchChip(on.writer, pagePart, on.before, tests));
    expect(broken).toMatchObject({ reason: { code: 'job.slow-chip' }, changed: [], maybeProtected: false });
    expect([on.chip.protected, on.chip.cells]).toEqual([false, on.before]);
  });

  it('when a cell shows the complement of bit 7 and then what it was sent then the chip was late', async () => {
    const on = await seated();
    const { writeBlocks } = on.writer;
    const told = (wrongBits: number) => async (blocks: readonly WriteBlock[]) => {
      await writeBlocks.call(on.writer, blocks);
      const [{ address, bytes }] = blocks as [WriteBlock];
      return [{ kind: 'mismatch' as const, address, wanted: bytes[0]!, actual: bytes[0]! ^ wrongBits }];
    };
    on.writer.writeBlocks = told(0x80);
    const broken = await brokenOff(tryScratchChip(on.writer, pagePart, on.before, tests));
    expect(broken).toMatchObject({ reason: { code: 'job.slow-chip' } });
    // Another bit alone may be one that is unsteady.
    on.writer.writeBlocks = told(0x01);
    const once = { ...tests, dataBus: [write(0, 0x01), read(0, 0x01)], addressBus: [] };
    await expect(tryScratchChip(on.writer, cellPart, on.before, once)).resolves.toBeDefined();
  });

  it('when it comes to that while it is put back then nobody knows what it holds', async () => {
    const on = await seated();
    const failing: ScratchTests = {
      ...tests,
      witness: () => {
        on.chip.faults = [{ kind: 'never-ready' }];
        throw new Error('no witness');
      },
    };
    const broken = await brokenOff(tryScratchChip(on.writer, pagePart, on.before, failing));
    expect(broken).toMatchObject({ reason: { message: 'no witness' }, changed: null });
  });
});
