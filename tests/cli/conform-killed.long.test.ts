// A conformance check that is killed in the middle leaves its record, and the record brings the cells back.
import { spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';

describe('a conformance check that is killed', () => {
  const folder = mkdtempSync(join(tmpdir(), 'romkiln-conform-'));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  const env = { ...process.env, XDG_DATA_HOME: join(folder, 'data') };
  const inFolder = (name: string): string => join(folder, name);
  const romkiln = (...words: string[]): string => {
    const { status, stdout } = spawnSync(process.execPath, ['bin/romkiln.js', ...words], { env });
    expect(status).toBe(0);
    return stdout.toString('utf8');
  };

  it('when it dies while cells are written then the book names it, and a restore of its record brings the cells back', async () => {
    const port = `emulated:${inFolder('b.json')}`;
    romkiln('emulate', 'new', inFolder('b.json'), '--chip', 'AT28C16', '--fill', 'random', '--cycle', '1ms');
    romkiln('dump', '-o', inFolder('before.bin'), '--port', port, '--quiet');
    const child = spawn(process.execPath, ['bin/romkiln.js', 'conform', '--scratch', '--port', port, '--quiet'], {
      env,
    });
    let said = '';
    child.stdout.on('data', (chunk: Buffer) => {
      said += chunk.toString('utf8');
      if (said.includes('blocks are carried out in the order received')) child.kill('SIGKILL');
    });
    expect(await new Promise((ended) => child.on('close', (_, by) => ended(by)))).toBe('SIGKILL');
    const dump = (name: string): Uint8Array => {
      romkiln('dump', '-o', inFolder(name), '--port', port, '--quiet');
      return new Uint8Array(readFileSync(inFolder(name)));
    };
    const before = new Uint8Array(readFileSync(inFolder('before.bin')));
    expect(dump('after.bin')).not.toEqual(before);
    const [id] = /(?<="romkiln restore )[0-9a-f]{12}/.exec(romkiln('book'))!;
    expect(romkiln('book')).toContain('Cut off, or still running: the conformance check with AT28C16');
    romkiln('restore', id, '--port', port, '--quiet');
    expect(dump('restored.bin')).toEqual(before);
    expect(romkiln('book')).not.toContain('Cut off, or still running');
  });
});
