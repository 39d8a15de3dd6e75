// Outside judges of memory text: Icarus Verilog loads what is written here with $readmemh, and what GNU objcopy writes is read here.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/ground/random.js';
import { differenceOf } from '../../src/image/difference.js';
import { readImage } from '../../src/image/read-image.js';
import { writeImage } from '../../src/image/write-image.js';
import { systemTool } from '../support/system-tools.js';
import { randomImage } from './random-image.js';

let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'memory-text-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Every word of a memory that loads this text, as the simulator prints it: two digits, or xx where nothing was loaded. */
function loaded(text: Uint8Array | string, cells: number): string[] {
  const [memory, source, program] = ['memory', 'source.v', 'program'].map((name) => join(folder, name));
  writeFileSync(memory!, text);
  writeFileSync(
    source!,
    `module top; reg [7:0] memory [0:${cells - 1}]; integer i;
     initial begin $readmemh("${memory}", memory); for (i = 0; i < ${cells}; i = i + 1) $display("%h", memory[i]); end
     endmodule\n`,
  );
  execFileSync('iverilog', ['-g2005', '-o', program!, source!], { stdio: 'pipe' });
  return execFileSync('vvp', [program!], { encoding: 'utf8' })
    .split('\n')
    .filter((line) => /^[\da-fxz]{2}$/.test(line));
}

describe.skipIf(!systemTool('iverilog'))('Icarus Verilog', () => {
  it('when it loads what is written then every defined cell holds its byte, and the others nothing', () => {
    const image = randomImage(seededRandom(21), 0x3000);
    const words = loaded(writeImage(image, 'memh'), image.bytes.length);
    const wanted = [...image.bytes].map((byte, cell) =>
      image.defined[cell] ? byte.toString(16).padStart(2, '0') : 'xx',
    );
    expect(words).toEqual(wanted);
  });

  it('when it loads a text with everything that is allowed then it reads what is read here', () => {
    const text = '// a\n@8 1 2_3 /* b\n */ xx\nZZ 0F\t@2\fab//c\nC /**/ @1f 7';
    const { image } = readImage(Buffer.from(text), { file: 'a.memh', size: 32 });
    const words = loaded(text, 32).map((word) => (/[xz]/.test(word) ? null : Number.parseInt(word, 16)));
    expect(words).toEqual([...image.bytes].map((byte, cell) => (image.defined[cell] ? byte : null)));
  });
});

describe.skipIf(!systemTool('objcopy'))('GNU objcopy', () => {
  it('when it writes memory text then the same cells are read from it', () => {
    for (const seed of [31, 32, 33]) {
      const image = randomImage(seededRandom(seed), 0x3000);
      const [input, output] = [join(folder, 'in.srec'), join(folder, 'out.memh')];
      writeFileSync(input, writeImage(image, 'srec'));
      execFileSync('objcopy', ['-I', 'srec', '-O', 'verilog', input, output]);
      const read = readImage(readFileSync(output), { file: output, size: image.bytes.length });
      expect(read.format).toBe('memh');
      expect(Buffer.compare(read.image.defined, image.defined)).toBe(0);
      expect(differenceOf(image, read.image).same).toBe(true);
    }
  });
});
