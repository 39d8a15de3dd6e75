// The committed .hex is what the sources make, byte for byte, with the compiler that it was made with.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, test } from 'vitest';
import { systemTool } from '../support/system-tools.js';

const firmwareFolder = fileURLToPath(new URL('../../firmware', import.meta.url));
const pinned = '5.4.0';

const compiler = systemTool('avr-gcc') ? execFileSync('avr-gcc', ['-dumpversion'], { encoding: 'utf8' }).trim() : null;
const buildable = compiler !== null && systemTool('make') && systemTool('avr-objcopy') && systemTool('avr-objdump');
if (compiler !== pinned && process.env.ROMKILN_REQUIRE_SYSTEM === '1') {
  throw new Error(`avr-gcc is ${compiler}, and ROMKILN_REQUIRE_SYSTEM=1 demands ${pinned}`);
}
const reason = compiler === null ? 'avr-gcc is missing' : `avr-gcc is ${compiler}`;

const folder = mkdtempSync(join(tmpdir(), 'romkiln-firmware-'));
afterAll(() => rmSync(folder, { recursive: true }));

const make = (target: string): string =>
  execFileSync('make', ['-s', '-C', firmwareFolder, target, `B=${folder}`, `NODE=${process.execPath}`], {
    encoding: 'utf8',
    stdio: 'pipe',
  });

describe.skipIf(!buildable || compiler !== pinned)(
  `when the firmware is built with avr-gcc ${pinned} (${reason})`,
  () => {
    test('then the .hex is the committed one', () => {
      make(`${folder}/romkiln-writer.hex`);
      const built = readFileSync(join(folder, 'romkiln-writer.hex'), 'latin1');
      expect(built).toBe(readFileSync(join(firmwareFolder, 'romkiln-writer.hex'), 'latin1'));
    });

    test('then its measures are within their limits', () => {
      const measures = make('measure');
      const number = (pattern: RegExp): number => Number(pattern.exec(measures)?.[1]);
      expect(number(/^receive interrupt +(\d+) cycles/m)).toBeLessThan(80);
      expect(number(/^RAM +(\d+) of 2048/m)).toBeLessThanOrEqual(2048);
      expect(number(/headroom (\d+)/)).toBeGreaterThanOrEqual(16);
    });
  },
);
