// The second judge: the committed firmware on simavr, with registers, chip and serial line written from firmware/README.md and the data
// sheets, through the built tool over a pseudo-terminal. It shares no code and no table with src/.
import { readFileSync, writeFileSync } from 'node:fs';
import { afterAll, describe, expect, test } from 'vitest';
import { seededRandom } from '../../src/ground/random.js';
import { systemTool } from '../support/system-tools.js';
import {
  type BenchReport,
  builtMutant,
  hasSecondBench,
  inFolder,
  removeFolder,
  romkiln,
  type SecondBench,
  startSecondBench,
} from './second-bench.js';

afterAll(removeFolder);

/** The table that a person reads in the log of continuous integration. */
const table = (chip: string, { times }: BenchReport): string =>
  [`${chip} on the second bench: the worst of each time, and what the data sheet asks for`]
    .concat(times.map((row) => `  ${row.name.padEnd(36)} ${row.worst.padStart(14)}   ${row.demand}`))
    .join('\n');

describe.skipIf(!hasSecondBench)(
  'the firmware on the second bench (needs libsimavr-dev, libelf-dev, gcc, make)',
  () => {
    const chips = [
      { chip: 'AT28C256', cells: 32768, cycleUs: 3000, codes: 0 },
      { chip: 'AT28C16', cells: 2048, cycleUs: 700, codes: 2 },
    ];
    for (const { chip, cells, cycleUs, codes } of chips) {
      test(`when the whole main job is done on an ${chip} then the cells are right and no time is broken`, async () => {
        const before = seededRandom(7).bytes(cells);
        const image = seededRandom(8).bytes(cells);
        writeFileSync(inFolder('image.bin'), image);
        const bench = await startSecondBench(chip, { chip, cycleUs, contents: before });
        const at = ['--port', bench.port, '--chip', chip, '--quiet'];

        const writer = await romkiln(['writer', '--port', bench.port]);
        expect(writer.out).toContain('address registers: 2, so 16 address lines');
        const conform = await romkiln(['conform', '--scratch', ...at]);
        expect(conform.out).toContain(' 0 broken');
        expect(await bench.cells()).toEqual(Buffer.from(before));
        const rig = await romkiln(['rig', '--scratch', ...at], 'yes\n');
        expect(rig.out).toContain('The chip reads as it did before');
        expect(await bench.cells()).toEqual(Buffer.from(before));

        expect(await romkiln(['burn', inFolder('image.bin'), ...at])).toMatchObject({ exit: 0 });
        expect(await bench.cells()).toEqual(Buffer.from(image));
        expect(await romkiln(['verify', inFolder('image.bin'), ...at])).toMatchObject({ exit: 0 });
        expect(await romkiln(['dump', '-o', inFolder(`${chip}.bin`), ...at])).toMatchObject({ exit: 0 });
        expect(readFileSync(inFolder(`${chip}.bin`))).toEqual(Buffer.from(image));

        expect(await romkiln(['protect', ...at])).toMatchObject({ exit: codes });
        if (codes === 0) {
          // A protected chip takes no erase, and says so; the codes bring it back.
          expect(await romkiln(['erase', ...at])).toMatchObject({ exit: 4 });
          expect(await bench.cells()).toEqual(Buffer.from(image));
          expect(await romkiln(['unprotect', ...at])).toMatchObject({ exit: 0 });
        }
        expect(await romkiln(['erase', ...at])).toMatchObject({ exit: 0 });
        expect((await bench.cells()).every((byte) => byte === 0xff)).toBe(true);

        const report = await bench.report();
        bench.kill();
        process.stdout.write(`${table(chip, report)}\n`);
        expect(report).toMatchObject({ fights: 0, breaches: 0, faults: [] });
        // A measure that nobody took judges nothing.
        expect(report.times.length).toBeGreaterThanOrEqual(16);
      });
    }

    /** Faults of the firmware that no check of bytes need find: the bench must. */
    const mutants = [
      {
        name: 'the access time from /OE is one cycle short',
        chip: 'AT28C256',
        file: 'avr/chip-bus.h',
        from: '#define ACCESS_CYCLES 8',
        to: '#define ACCESS_CYCLES 2',
        found: (report: BenchReport) => report.times.some((t) => t.name === 'access from /OE' && t.breaches > 0),
      },
      {
        name: 'the registers are latched before the last shift',
        chip: 'AT28C256',
        file: 'avr/address-registers.c',
        from: 'while ((SPSR & _BV(SPIF)) == 0)\n        ;\n    return SPDR;',
        to: '__builtin_avr_delay_cycles(12);\n    return SPDR;',
        found: (report: BenchReport) =>
          report.times.some((t) => t.name === 'last shift before a latch' && t.breaches > 0),
      },
      {
        name: 'the /WE pulse is longer than 1 us',
        chip: 'AT28C16',
        file: 'avr/page-transfer.c',
        from: '__builtin_avr_delay_cycles(2); /* low',
        to: '__builtin_avr_delay_cycles(15); /* low',
        found: (report: BenchReport) => report.times.some((t) => t.name === '/WE low, longest' && t.breaches > 0),
      },
      {
        name: 'the bus is still driven when the chip drives it',
        chip: 'AT28C256',
        file: 'avr/bench-checks.c',
        from: 'bus_release();\n    chip_select();',
        to: 'chip_select();',
        found: (report: BenchReport) => report.fights > 0,
      },
      {
        name: 'the bus is driven before /OE has risen',
        chip: 'AT28C256',
        file: 'avr/chip-bus.h',
        from: 'PORTC |= _BV(OE);\n    __builtin_avr_delay_cycles(RELEASE_CYCLES);',
        to: 'DDRD = DATA_HIGH | DDRD_RELEASED;\n    PORTC |= _BV(OE);\n    DDRD = DDRD_RELEASED;',
        found: (report: BenchReport) => report.fights > 0,
      },
    ];
    describe.skipIf(!(hasSecondBench && systemTool('avr-gcc')))('a mutant of the firmware', () => {
      for (const [i, { name, chip, file, from, to, found }] of mutants.entries()) {
        test(`when ${name} then the bench finds it`, async () => {
          const bench: SecondBench = await startSecondBench(`mutant${i}`, {
            chip,
            cycleUs: 700,
            firmware: builtMutant(`${i}`, file, from, to),
          });
          writeFileSync(inFolder('part.bin'), seededRandom(i).bytes(128));
          // Whether the job comes through or not: the pins tell.
          await romkiln(['burn', inFolder('part.bin'), '--chip', chip, '--port', bench.port, '--quiet']);
          const report = await bench.report();
          bench.kill();
          expect(found(report), JSON.stringify(report)).toBe(true);
        });
      }
    });
  },
);
