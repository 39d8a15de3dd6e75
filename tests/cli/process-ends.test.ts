// How the program itself ends: outputs that take nothing, a clone that was never installed, a folder that cannot be made.
import { spawnSync } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, openSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { lockPort } from '../../src/link/port-lock.js';

const folder = mkdtempSync(join(tmpdir(), 'romkiln-ends-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function romkiln(words: readonly string[], stdout: 'pipe' | number = 'pipe', program = 'bin/romkiln.js') {
  const { status, stderr } = spawnSync(process.execPath, [program, ...words], { stdio: ['ignore', stdout, 'pipe'] });
  return { exit: status, err: stderr.toString('utf8') };
}

describe.skipIf(!existsSync('/dev/full'))('standard output that takes nothing', () => {
  it('when the disk behind it is full then that is said and the exit is 2', () => {
    const { exit, err } = romkiln(['chips'], openSync('/dev/full', 'w'));
    expect([exit, err]).toEqual([
      2,
      expect.stringMatching(/^romkiln: Standard output cannot be written: the disk is full\./),
    ]);
  });

  it('when nothing was to be written there then nothing is said of it', () => {
    const { exit, err } = romkiln(['check', 'none.yaml'], openSync('/dev/full', 'w'));
    expect([exit, err]).toEqual([2, expect.not.stringContaining('Standard output')]);
  });
});

describe('a clone that was never installed', () => {
  it.each(['dist', 'packages'])('when it has no %s then it says "npm start", also through a link', (missing) => {
    const clone = join(folder, missing);
    mkdirSync(clone);
    cpSync('bin', join(clone, 'bin'), { recursive: true });
    writeFileSync(join(clone, 'package.json'), '{"type":"module"}');
    if (missing === 'packages') cpSync('dist/cli', join(clone, 'dist/cli'), { recursive: true });
    symlinkSync(join(clone, 'bin/romkiln.js'), join(clone, 'linked'));
    const { exit, err } = romkiln(['--help'], 'pipe', join(clone, 'linked'));
    expect(exit).toBe(2);
    expect(err).toContain(`This clone is not installed yet: ${clone}/ has no ${missing}.\n  Run "npm start" there`);
    expect(err).not.toContain('    at ');
  });
});

describe.skipIf(!existsSync('/proc/self'))('a folder for locks that cannot be made', () => {
  it('when its parent refuses every child then that is said at once', async () => {
    await expect(lockPort('/proc/romkiln/deep', '/dev/none')).rejects.toMatchObject({ code: 'link.no-lock', exit: 2 });
  });
});

describe.skipIf(!existsSync('/dev/stdout'))('bytes that go to standard output', () => {
  it('when a chip is dumped there then nothing but its bytes comes, and the words go to standard error', () => {
    const bench = join(folder, 'bench.json');
    const run = (...words: string[]) =>
      spawnSync(process.execPath, ['bin/romkiln.cjs', ...words], { env: { ...process.env, XDG_DATA_HOME: folder } });
    run('emulate', 'new', bench, '--chip', 'AT28C16');
    const { status, stdout, stderr } = run('dump', '-o', '/dev/stdout', '--port', `emulated:${bench}`, '--quiet');
    expect([status, stdout.length, new Set(stdout)]).toEqual([0, 2048, new Set([0xff])]);
    expect(stderr.toString('utf8')).toMatch(/^2048 bytes of AT28C16 read into \/dev\/stdout \(raw binary\), CRC-32/);
  });
});
