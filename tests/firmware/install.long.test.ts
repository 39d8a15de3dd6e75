// Boards with a boot loader, on the second bench: what the search line and a reset in the middle of a burn do to them, and `install`.
import { readFileSync, writeFileSync } from 'node:fs';
import { afterAll, describe, expect, test } from 'vitest';
import { type Random, seededRandom } from '../../src/ground/random.js';
import { openSerial } from '../../src/link/open-serial.js';
import { searchLine } from '../../src/protocol/search-line.js';
import { bootLoaders, hasBootLoaders } from './boot-loaders.js';
import {
  committedFirmware,
  hasSecondBench,
  inFolder,
  removeFolder,
  romkiln,
  type SecondBench,
  startSecondBench,
} from './second-bench.js';

afterAll(removeFolder);

/** The firmware's bytes, by the records of its .hex. */
function firmwareBytes(): Buffer {
  const bytes = Buffer.alloc(32768, 0xff);
  let end = 0;
  for (const line of readFileSync(committedFirmware, 'latin1').split(/\r?\n/)) {
    const record = Buffer.from(line.slice(1), 'hex');
    if (record[3] !== 0) continue;
    const address = record.readUInt16BE(1);
    record.copy(bytes, address, 4, 4 + record[0]!);
    end = Math.max(end, address + record[0]!);
  }
  return bytes.subarray(0, end);
}

/** A program that is none of ours: one NOP, and FF behind it. */
function otherProgram(): string {
  const path = inFolder('other.hex');
  writeFileSync(path, ':020000000000FE\n:00000001FF\n');
  return path;
}

const isWhole = async (bench: SecondBench): Promise<boolean> => {
  const firmware = firmwareBytes();
  return (await bench.flash()).subarray(0, firmware.length).equals(firmware);
};

const needs = 'needs libsimavr-dev, libelf-dev, gcc, make, gcc-avr, arduino-core-avr';
describe.skipIf(!(hasSecondBench && hasBootLoaders)).each(bootLoaders)(`$name (${needs})`, (loader) => {
  const name = (what: string): string => `${what}-${loader.baud}`;

  test('when the board runs another program then it is named, and install puts the firmware in, byte for byte', async () => {
    const bench = await startSecondBench(name('install'), {
      chip: 'none',
      firmware: otherProgram(),
      loader: loader.hex(),
    });
    const before = await bench.flash();
    const lost = await romkiln(['writer', '--port', bench.port]);
    expect(lost.exit).toBe(3);
    expect(lost.err).toContain(`a boot loader answers (${loader.baud} baud), and no firmware`);
    expect(lost.err).toContain(`romkiln install --port ${bench.port}`);

    const dry = await romkiln(['install', '--dry-run', '--port', bench.port, '--quiet']);
    expect(dry.out).toContain('Its flash holds another program');
    expect(await bench.flash()).toEqual(before);

    const installed = await romkiln(['install', '--port', bench.port, '--quiet']);
    expect(installed).toMatchObject({ exit: 0, err: '' });
    expect(installed.out).toContain('firmware-2.0.0 answers, protocol version 2.');
    const flash = await bench.flash();
    const firmware = firmwareBytes();
    expect(flash.subarray(0, firmware.length).equals(firmware)).toBe(true);
    expect(flash.subarray(loader.from).equals(before.subarray(loader.from))).toBe(true);
    expect((await romkiln(['writer', '--port', bench.port])).exit).toBe(0);
    bench.kill();
  });

  test('when the board is reset while install goes on then that is said, and install again comes through', async () => {
    const bench = await startSecondBench(name('broken-off'), {
      chip: 'none',
      firmware: otherProgram(),
      loader: loader.hex(),
    });
    const first = romkiln(['install', '--port', bench.port]);
    const begun = async (): Promise<boolean> => (await bench.flash()).subarray(0, 2).equals(Buffer.of(0xff, 0xcf));
    while (!(await begun())) await bench.wait(50);
    await bench.wait(300);
    await bench.reset();
    const ended = await first;
    expect(ended.exit).toBe(3);
    expect(ended.err).toContain('stopped answering');
    expect(ended.err).toContain('Run `romkiln install` again');
    expect(await begun()).toBe(true);
    expect(await romkiln(['install', '--port', bench.port, '--quiet'])).toMatchObject({ exit: 0 });
    expect(await isWhole(bench)).toBe(true);
    bench.kill();
  });

  test('when the loader hears the search line, cut at any character, at any rate, then the flash stays', async () => {
    const bench = await startSecondBench(name('cuts'), { chip: 'none', loader: loader.hex() });
    const before = await bench.flash();
    for (const baud of [115_200, 250_000, 500_000, 1_000_000]) {
      const link = await openSerial(bench.port, { baud, lineMax: 1000 });
      for (let cut = 0; cut < searchLine.length; cut++) {
        await bench.reset();
        // It listens when its lamp has blinked.
        await bench.wait(450);
        await link.send(searchLine.slice(cut));
        await link.send(searchLine);
        await bench.wait(20);
      }
      await link.close();
    }
    await bench.wait(2000);
    expect(await bench.flash()).toEqual(before);
    bench.kill();
  });

  /** Burns, resets the board somewhere in it, and wants the firmware whole, or the user told and helped. */
  async function burnThroughReset(
    bench: SecondBench,
    baud: number,
    image: Uint8Array,
    random: Random,
  ): Promise<boolean> {
    writeFileSync(inFolder('reset.bin'), image);
    const words = ['--chip', 'AT28C256', '--port', bench.port, '--quiet'];
    const burning = romkiln(['burn', inFolder('reset.bin'), '--rate', String(baud), ...words]);
    await bench.wait(1000 + random.below(2500));
    await bench.reset();
    const burned = await burning;
    const whole = await isWhole(bench);
    if (whole) {
      // Told that the job did not come through, a person repeats it.
      if (burned.exit !== 0)
        expect(await romkiln(['burn', inFolder('reset.bin'), ...words]), burned.err).toMatchObject({ exit: 0 });
    } else {
      const told = await romkiln(['writer', '--port', bench.port]);
      expect(told.err).toContain('a boot loader answers');
      expect(await romkiln(['install', '--port', bench.port, '--quiet'])).toMatchObject({ exit: 0 });
      expect(await isWhole(bench)).toBe(true);
      expect(await romkiln(['burn', inFolder('reset.bin'), ...words])).toMatchObject({ exit: 0 });
    }
    expect((await bench.cells()).subarray(0, image.length)).toEqual(Buffer.from(image));
    return whole;
  }

  test('when the board is reset in the middle of a burn then the firmware is whole, or install mends it', async () => {
    const bench = await startSecondBench(name('resets'), { chip: 'AT28C256', loader: loader.hex(), cycleUs: 2000 });
    const random = seededRandom(loader.baud);
    const each = Number(process.env.ROMKILN_RESETS ?? 1);
    const told: string[] = [];
    for (const baud of [115_200, 1_000_000]) {
      let whole = 0;
      for (let i = 0; i < each; i++) {
        if (await burnThroughReset(bench, baud, random.bytes(16384), random)) whole++;
      }
      told.push(`${loader.name}, ${baud} baud: ${whole} of ${each} resets left the firmware whole`);
    }
    process.stdout.write(`${told.join('\n')}\n`);
    const report = await bench.report();
    bench.kill();
    expect(report.fights).toBe(0);
  });
});
