// Files that commands write: what cannot be written is refused before the chip is read, and the format is said.
import { describe, expect, it } from 'vitest';
import { keepOf } from '../../src/cli/book-keeping.js';
import { run } from '../../src/cli/run.js';
import { ToolError } from '../../src/ground/errors.js';
import { mockWriter } from '../mock/mock-writer.js';
import { fakeWorld } from '../support/fake-world.js';

function bench() {
  const mock = mockWriter({ chip: { cells: 2048, page: 1, cycleUs: 1000, codes: false, contents: 0x5a } });
  let opened = 0;
  const world = fakeWorld({
    openSerial: (path, options) => {
      opened += 1;
      return mock.open(path, options);
    },
  });
  const romkiln = (...words: string[]) => run([...words, '--chip', 'AT28C16', '--port', 'bench', '--quiet'], world);
  return { world, romkiln, opened: () => opened };
}

describe('dump', () => {
  it('when the file cannot be written then no port is opened, and all else that is wrong is said too', async () => {
    const { world, romkiln, opened } = bench();
    world.files.checkReplace = (path) => {
      throw new ToolError('cli.file-unwritable', { path, reason: 'it is a folder' });
    };
    expect(await romkiln('dump', '-o', 'out', '--rate', 'fast')).toBe(2);
    expect(world.err()).toContain('out cannot be written: it is a folder.');
    expect(world.err()).toContain('"fast" is not a value for --rate');
    expect(opened()).toBe(0);
  });

  it.each([
    ['d.elf', [], 'raw binary', 'bin'],
    ['d', [], 'raw binary', 'bin'],
    ['d.elf', ['--format', 'srec'], 'S-records', 'srec'],
    ['d.hex', [], 'Intel HEX', 'hex'],
  ] as const)('when the file is %s with %j then it says that it is %s', async (file, options, name, format) => {
    const said = bench();
    expect(await said.romkiln('dump', '-o', file, ...options)).toBe(0);
    expect(said.world.out()).toContain(`2048 bytes of AT28C16 read into ${file} (${name}), CRC-32`);
    const first = Buffer.from(said.world.files.read(file)).toString('latin1')[0];
    expect(first).toBe({ bin: '\x5a', hex: ':', srec: 'S' }[format]);
    const facts = bench();
    await facts.romkiln('dump', '-o', file, ...options, '--json');
    expect(facts.world.json()).toMatchObject({ file, format });
  });
});

describe('keep show', () => {
  it('when the bytes go into a file then its format is said', async () => {
    const world = fakeWorld();
    const facts = { time: '2026-01-02T03:04:05Z', chip: 'AT28C16', label: null, port: 'bench', image: 'a.bin' };
    const { id } = keepOf(world).store(facts, [{ from: 0, bytes: Uint8Array.of(0x5a) }]);
    expect(await run(['keep', 'show', id, '-o', 'old.rommy'], world)).toBe(0);
    expect(world.out()).toContain('Written to old.rommy (raw binary).');
    expect(world.files.read('old.rommy')).toEqual(Uint8Array.of(0x5a));
  });
});

describe('compare', () => {
  const compared = async (wanted: string, actual: string, ...more: string[]) => {
    const world = fakeWorld({ initialFiles: { 'wanted.bin': wanted, 'actual.bin': actual } });
    const exit = await run(['compare', 'wanted.bin', 'actual.bin', ...more], world);
    return { exit, out: world.out(), err: world.err() };
  };

  it.each([
    ['', '', 'wanted.bin'],
    ['', 'a', 'wanted.bin'],
    ['a', '', 'actual.bin'],
  ])('when the files hold %j and %j then the empty one is named, and nothing is the same', async (w, a, empty) => {
    expect(await compared(w, a)).toEqual({
      exit: 2,
      out: '',
      err: `romkiln: ${empty} contains no bytes.\n  An image has at least one byte. Was the file cut off?  [image.empty]\n`,
    });
  });

  it('when nothing is wanted in the range then nothing is the same', async () => {
    const { exit, out, err } = await compared('a', 'abcd', '--range', '2..3');
    expect([exit, out]).toEqual([2, '']);
    expect(err).toContain('wanted.bin defines no byte in this range.');
  });

  it('when one is shorter then it is not the same, and one byte is enough to compare', async () => {
    expect((await compared('ab', 'a')).exit).toBe(1);
    expect((await compared('a', 'a')).exit).toBe(0);
  });
});
