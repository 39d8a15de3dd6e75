// The built program against a bench on a pseudo terminal: the native serial binding, real time, real processes, a pulled plug.
import { type ChildProcess, spawn } from 'node:child_process';
import { chmodSync, existsSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/ground/random.js';
import { systemTool } from '../support/system-tools.js';

let folder = '';
const running = new Set<ChildProcess>();
const inFolder = (name: string): string => join(folder, name);

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'romkiln-served-'));
});
afterEach(() => {
  for (const child of running) child.kill('SIGKILL');
  running.clear();
  rmSync(folder, { recursive: true, force: true });
});

interface Ended {
  readonly exit: number | null;
  readonly out: string;
  readonly err: string;
}

function start(
  words: readonly string[],
  onErr: (text: string) => void = () => {},
): { child: ChildProcess; ended: Promise<Ended> } {
  const child = spawn(process.execPath, ['bin/romkiln.js', ...words], {
    env: { ...process.env, XDG_DATA_HOME: inFolder('data') },
  });
  running.add(child);
  let out = '';
  let err = '';
  child.stdout.on('data', (chunk: Buffer) => {
    out += chunk.toString('utf8');
  });
  child.stderr.on('data', (chunk: Buffer) => {
    err += chunk.toString('utf8');
    onErr(err);
  });
  const ended = new Promise<Ended>((settle) => {
    child.on('close', (exit) => settle({ exit, out, err }));
  });
  return { child, ended };
}

const romkiln = (...words: string[]): Promise<Ended> => start(words).ended;

/** Serves a bench; resolves when its port is there. */
async function serve(bench: string): Promise<{ child: ChildProcess; port: string; ended: Promise<Ended> }> {
  const port = `${bench}.port`;
  const { child, ended } = start(['emulate', 'serve', bench]);
  while (!existsSync(port)) await new Promise((next) => setTimeout(next, 20));
  return { child, port, ended };
}

describe.skipIf(!systemTool('socat'))('a bench on a pseudo terminal', () => {
  it('when a chip is burned through the native binding then it is verified and dumped as on the bench itself', async () => {
    const image = seededRandom(5).bytes(8192);
    writeFileSync(inFolder('a.bin'), image);
    await romkiln('emulate', 'new', inFolder('b.json'), '--chip', 'AT28C64B', '--cycle', '1ms');
    const { child, port, ended } = await serve(inFolder('b.json'));
    const burned = await romkiln('burn', inFolder('a.bin'), '--chip', 'AT28C64B', '--port', port, '--json', '--quiet');
    expect(burned.err).toBe('');
    expect(JSON.parse(burned.out)).toMatchObject({ verified: true, pages: { total: 128, written: 128 } });
    const dumped = await romkiln('dump', '-o', inFolder('d.bin'), '--chip', 'AT28C64B', '--port', port, '--quiet');
    expect(dumped.exit).toBe(0);
    expect(new Uint8Array(readFileSync(inFolder('d.bin')))).toEqual(image);
    child.kill('SIGINT');
    expect((await ended).exit).toBe(130);
  });

  it('when the far end dies in the middle then the exit is 3, and the next burn writes only what is missing', async () => {
    const image = seededRandom(6).bytes(32768);
    writeFileSync(inFolder('a.bin'), image);
    await romkiln('emulate', 'new', inFolder('b.json'), '--chip', '28C256', '--cycle', '5ms');
    const served = await serve(inFolder('b.json'));
    const burning = start(['burn', inFolder('a.bin'), '--chip', '28C256', '--port', served.port], (err) => {
      if (err.includes('writing: 128 of 512')) served.child.kill('SIGKILL');
    });
    const cut = await burning.ended;
    expect(cut.exit).toBe(3);
    expect(cut.err).toMatch(/link\.gone|writer\.lost/);
    expect(cut.out).not.toContain('Verified');
    const again = await romkiln(
      'burn',
      inFolder('a.bin'),
      '--chip',
      '28C256',
      '--port',
      `emulated:${inFolder('b.json')}`,
      '--json',
      '--quiet',
    );
    const { verified, pages } = JSON.parse(again.out);
    expect(verified).toBe(true);
    expect(pages.skipped).toBeGreaterThanOrEqual(128);
    expect(pages.written + pages.skipped).toBe(512);
  });

  it('when Ctrl-C comes in the middle then what is finished is said, the exit is 130 and the port is free', async () => {
    writeFileSync(inFolder('a.bin'), seededRandom(7).bytes(32768));
    await romkiln('emulate', 'new', inFolder('b.json'), '--chip', '28C256', '--cycle', '5ms');
    const served = await serve(inFolder('b.json'));
    const burning = start(['burn', inFolder('a.bin'), '--chip', '28C256', '--port', served.port], (err) => {
      if (err.includes('writing: 128 of 512')) burning.child.kill('SIGINT');
    });
    const { exit, out } = await burning.ended;
    expect(exit).toBe(130);
    expect(out).toMatch(/Wrote 1\d\d of 512 pages/);
    expect(out).toContain('Interrupted');
    expect((await romkiln('writer', '--port', served.port, '--quiet')).exit).toBe(0);
  });

  it('when its path holds characters with a meaning for others then it is served all the same', async () => {
    const bench = inFolder('b,c "d" \'e\' !!f\\g.json');
    await romkiln('emulate', 'new', bench, '--chip', 'AT28C64B');
    const served = await serve(bench);
    expect((await romkiln('writer', '--port', served.port, '--quiet')).exit).toBe(0);
  });

  it('when a file stands where its port should then it stays, and nothing is served', async () => {
    await romkiln('emulate', 'new', inFolder('b.json'), '--chip', 'AT28C64B');
    writeFileSync(inFolder('b.json.port'), 'notes');
    const { exit, err } = await romkiln('emulate', 'serve', inFolder('b.json'));
    expect([exit, readFileSync(inFolder('b.json.port'), 'utf8')]).toEqual([2, 'notes']);
    expect(err).toContain('b.json.port is there already');
  });

  it('when a serve was killed then its port is no obstacle for the next', async () => {
    await romkiln('emulate', 'new', inFolder('b.json'), '--chip', 'AT28C64B');
    symlinkSync('/dev/pts/99999', inFolder('b.json.port'));
    const served = await serve(inFolder('b.json'));
    served.child.kill('SIGINT');
    expect((await served.ended).exit).toBe(130);
    expect(existsSync(inFolder('b.json.port'))).toBe(false);
  });

  it('when its file cannot be saved then it ends in words', async () => {
    const bench = inFolder('b.json');
    await romkiln('emulate', 'new', bench, '--chip', 'AT28C64B');
    writeFileSync(inFolder('a.bin'), new Uint8Array(64));
    const served = await serve(bench);
    chmodSync(bench, 0o444);
    await romkiln(
      'burn',
      inFolder('a.bin'),
      '--chip',
      'AT28C64B',
      '--port',
      served.port,
      '--range',
      '0..63',
      '--quiet',
    );
    const { exit, err } = await served.ended;
    expect(exit).toBe(2);
    expect(err).toMatch(/b\.json cannot be written: it is read-only/);
    expect(err).not.toContain('    at ');
  });

  it('when another romkiln holds the port then the second is told who', async () => {
    await romkiln('emulate', 'new', inFolder('b.json'), '--chip', 'AT28C64B');
    const served = await serve(inFolder('b.json'));
    const holding = start(['hold', '0x155', '--port', served.port]);
    await new Promise<void>((held) => holding.child.stdout!.on('data', () => held()));
    const second = await romkiln('writer', '--port', served.port);
    expect(second.exit).toBe(3);
    expect(second.err).toContain(String(holding.child.pid));
    holding.child.stdin!.write('\n');
    expect((await holding.ended).exit).toBe(0);
  });
});

describe('the program', () => {
  it('when its reader goes away then it ends without a stack trace', async () => {
    const { child, ended } = start(['chips']);
    child.stdout!.destroy();
    expect((await ended).err).toBe('');
  });

  it('when the port does not exist then it says so', async () => {
    const { exit, err } = await romkiln('writer', '--port', '/dev/romkiln-none');
    expect(exit).toBe(3);
    expect(err).toContain('/dev/romkiln-none');
    expect(err).not.toMatch(/\n\s+at /);
  });
});
