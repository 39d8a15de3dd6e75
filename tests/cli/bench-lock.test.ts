// Two commands on one bench file: the second is refused and told who holds it, so that neither claims what the other undid.
import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';

const folder = mkdtempSync(join(tmpdir(), 'romkiln-lock-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const env = { ...process.env, XDG_DATA_HOME: join(folder, 'data') };

describe('a bench file in use', () => {
  it('when a second command wants it then it is told who holds it, and later it is free', async () => {
    const bench = join(folder, 'b.json');
    execFileSync(process.execPath, ['bin/romkiln.js', 'emulate', 'new', bench, '--chip', 'AT28C16E'], { env });
    const port = `emulated:${bench}`;
    const first = spawn(process.execPath, ['bin/romkiln.js', 'hold', '0x10', '--port', port], { env });
    await new Promise<void>((held) => first.stdout.once('data', () => held()));
    for (const words of [
      ['blank', '--port', port],
      ['emulate', 'fault', bench, 'decayed', '0x20'],
    ]) {
      const second = spawn(process.execPath, ['bin/romkiln.js', ...words], { env });
      let said = '';
      second.stderr.on('data', (chunk: Buffer) => {
        said += chunk.toString('utf8');
      });
      const refused = await new Promise<number | null>((ended) => second.on('close', ended));
      expect(said).toContain(String(first.pid));
      expect(refused).toBe(3);
    }
    first.stdin.write('\n');
    await new Promise((ended) => first.on('close', ended));
    execFileSync(process.execPath, ['bin/romkiln.js', 'blank', '--port', port, '--quiet'], { env });
  });
});
