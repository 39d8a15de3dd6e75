import { describe, expect, it } from 'vitest';
import type { WiringFault } from '../../src/chip/wiring-fault.js';
import { type RigStep, type ScratchTests, tryEmptySocket, tryScratchChip } from '../../src/job/rig.js';
import { cellPart, pagePart, type SeatedOptions, seated, withChanged } from './seated.js';

const write = (address: number, byte: number): RigStep => ({ kind: 'write', address, byte });
const read = (address: number): RigStep => ({ kind: 'read', address });

const tests: ScratchTests = {
  dataBus: [write(0, 0x01), read(0), write(0, 0x80), read(0)],
  addressBus: [write(0, 0xaa), write(4, 0x55), read(0), read(4), read(6)],
  witness: (before) => before.map((byte) => ~byte),
};

async function scratched(options: SeatedOptions = {}) {
  const on = await seated(options);
  const part = options.part ?? pagePart;
  // As the writer reads it: on a faulty rig that is not what the chip holds.
  const asRead = await on.writer.read(0, part.cells);
  return { ...on, found: await tryScratchChip(on.writer, part, asRead, tests) };
}

describe('the empty socket', () => {
  it('when nothing is in it then every line follows the charge, and the pull-ups lift every line', async () => {
    const { writer, mock } = await seated({ chip: { faults: [{ kind: 'absent' }] } });
    expect(await tryEmptySocket(writer)).toEqual({ registers: 2, noChip: { pulled: 0xff, followed: 0xff } });
    expect(mock.firmware.hold).toBeNull();
  });

  it('when a chip is in it after all then the lines that it drives do not follow', async () => {
    const { writer } = await seated({ registers: 3, wiring: [{ kind: 'open', line: 'D4' }] });
    expect(await tryEmptySocket(writer)).toMatchObject({ registers: 3, noChip: { followed: 0x10 } });
  });

  it('when the line to the writer is lost then that is said, not taken for an empty socket', async () => {
    const { writer, mock } = await seated();
    writer.park = async () => mock.unplug();
    await expect(tryEmptySocket(writer)).rejects.toMatchObject({ code: 'link.gone' });
  });
});

describe('the scratch chip', () => {
  it('when wiring and chip are sound then every test reads what it wrote, and the chip reads as before', async () => {
    const { found, chip, before } = await scratched();
    expect(found).toMatchObject({
      registers: 2,
      followed: 0,
      dataBus: [0x01, 0x80],
      addressBus: [0xaa, 0x55, before[6]],
      protection: { refusedWhenOn: true, tookWhenOff: true },
      putBack: true,
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
    expect(found.pageWitness).toEqual({ address, before: page, wanted: inverted, actual: inverted });
  });

  it('when the part has neither pages nor codes then these tests are left out, and the chip reads as before', async () => {
    const { found, chip, before } = await scratched({ part: cellPart });
    expect(Object.keys(found).sort()).toEqual(
      ['addressBus', 'dataBus', 'followed', 'putBack', 'refusesWrites', 'registers'].sort(),
    );
    expect(found).toMatchObject({ dataBus: [1, 0x80], addressBus: [0xaa, 0x55, before[6]], putBack: true });
    expect(chip.cells).toEqual(before);
  });

  it.each<[string, WiringFault, object]>([
    ['D7 stuck at 0', { kind: 'stuck', line: 'D7', level: 0 }, { dataBus: [0x01, 0x00], putBack: true }],
    ['A2 stuck at 0', { kind: 'stuck', line: 'A2', level: 0 }, { addressBus: [0x55, 0x55, expect.anything()] }],
    ['D3 open', { kind: 'open', line: 'D3' }, { followed: 0x08 }],
  ])('when %s then what was read tells it', async (_, fault, seen) => {
    const { found } = await scratched({ wiring: [fault] });
    expect(found).toMatchObject(seen);
  });

  it('when the chip is protected then it took no write, and no code is sent that would unlock it', async () => {
    const { found, chip, before } = await scratched({ chip: { protected: true } });
    expect(found).toMatchObject({ refusesWrites: true, putBack: true });
    expect(found.protection).toBeUndefined();
    expect(chip.protected).toBe(true);
    expect(chip.cells).toEqual(before);
  });

  it('when the cell held one of the test bytes before then the chip does not refuse all the same', async () => {
    const { found } = await scratched({ chip: { contents: 0x01 } });
    expect(found).toMatchObject({ dataBus: [0x01, 0x80], refusesWrites: false, putBack: true });
  });

  it('when the codes do not reach the chip in order then writes are not refused after them', async () => {
    const { found } = await scratched({ chip: { codes: false } });
    expect(found.protection).toEqual({ refusedWhenOn: false, tookWhenOff: true });
    expect(found.putBack).toBe(true);
  });

  it('when the chip reads as before at once then nothing is written to put it back', async () => {
    const on = await seated({ part: cellPart });
    const { writeBlocks } = on.writer;
    const written: number[] = [];
    on.writer.writeBlocks = (blocks, options) => {
      written.push(...blocks.map((b) => b.address));
      return writeBlocks.call(on.writer, blocks, options);
    };
    const idle: ScratchTests = { ...tests, dataBus: [read(0)], addressBus: [read(1)] };
    const found = await tryScratchChip(on.writer, cellPart, withChanged(on.before), idle);
    expect([found.putBack, written]).toEqual([true, []]);
    // Only stretches that read otherwise are written.
    on.chip.cells[200]! ^= 1;
    on.chip.cells[511]! ^= 1;
    expect((await tryScratchChip(on.writer, cellPart, on.before, idle)).putBack).toBe(true);
    expect(written).toEqual([192, 496]);
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
    const idle: ScratchTests = { ...tests, dataBus: [read(0)], addressBus: [] };
    expect((await tryScratchChip(on.writer, cellPart, on.before, idle)).putBack).toBe(true);
    expect(rounds).toBe(3);
  });

  it('when the chip stays closed after the codes that open it then that is told', async () => {
    const on = await seated();
    on.writer.unprotect = async () => {};
    const found = await tryScratchChip(on.writer, pagePart, on.before, tests);
    expect(found.protection).toEqual({ refusedWhenOn: true, tookWhenOff: false });
  });

  it('when a cell does not come back then that is said', async () => {
    const on = await seated();
    const { writeBlocks } = on.writer;
    on.writer.writeBlocks = (...args) => {
      on.chip.faults = [{ kind: 'weak-cell', address: 6, bit: 0, level: on.before[6]! & 1 ? 0 : 1 }];
      return writeBlocks.call(on.writer, ...args);
    };
    expect(await tryScratchChip(on.writer, pagePart, on.before, tests)).toMatchObject({ putBack: false });
  });

  it('when the writer is lost in the middle then that is the end, whatever was found', async () => {
    const on = await seated();
    const { writeBlocks } = on.writer;
    let count = 0;
    on.writer.writeBlocks = (...args) => {
      if (++count === 3) on.mock.unplug();
      return writeBlocks.call(on.writer, ...args);
    };
    await expect(tryScratchChip(on.writer, pagePart, on.before, tests)).rejects.toMatchObject({ code: 'link.gone' });
  });

  it('when a test fails in the middle then the chip is put back all the same', async () => {
    const on = await seated();
    const failing: ScratchTests = {
      ...tests,
      witness: () => {
        throw new Error('no witness');
      },
    };
    await expect(tryScratchChip(on.writer, pagePart, on.before, failing)).rejects.toThrow('no witness');
    expect(on.chip.cells).toEqual(on.before);
  });
});
