// A pair of joined pseudo terminals, made by socat: one end for the tool, the other for the test.
import { type ChildProcess, spawn } from 'node:child_process';
import { createReadStream, createWriteStream, existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

export interface SocatPair {
  /** The path that the tool opens. */
  readonly host: string;
  /** The path of the other end. */
  readonly far: string;
  readonly socat: ChildProcess;
  /** Writes at the far end; resolves when the system took it: true, or false when socat is gone. */
  write(text: string): Promise<boolean>;
  /** What came out at the far end so far. */
  heard(): string;
  /** Ends socat and removes its files. Safe to call twice. */
  end(): void;
}

const until = async (condition: () => boolean): Promise<void> => {
  while (!condition()) await new Promise((resolve) => setTimeout(resolve, 5));
};

export async function socatPair(): Promise<SocatPair> {
  const folder = mkdtempSync(join(tmpdir(), 'romkiln-pty-'));
  const host = join(folder, 'host');
  const far = join(folder, 'far');
  const socat = spawn('socat', [`pty,raw,echo=0,link=${host}`, `pty,raw,echo=0,link=${far}`], { stdio: 'ignore' });
  await until(() => existsSync(host) && existsSync(far));
  const out = createWriteStream(far);
  const input = createReadStream(far, { encoding: 'latin1' });
  let heard = '';
  input.on('data', (text) => {
    heard += text;
  });
  input.on('error', () => {});
  out.on('error', () => {});
  return {
    host,
    far,
    socat,
    write: (text) => new Promise((resolve) => out.write(text, 'latin1', (error) => resolve(!error))),
    heard: () => heard,
    end: () => {
      socat.kill('SIGKILL');
      input.destroy();
      out.destroy();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
