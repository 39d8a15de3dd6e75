// The writer's codec, built for this computer: lines in, lines out.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const firmwareFolder = fileURLToPath(new URL('../../firmware', import.meta.url));

export interface NativeCodec {
  /** Each line as a request: `good SEQ WORD fields`, or the refusal line that the writer would send. */
  decode(lines: readonly string[]): string[];
  /** Each answer, in the parts that firmware/src/host/codec.c names, as the line that the writer would send. */
  encode(answers: readonly string[]): string[];
  fuzz(seed: number, lines: number): string;
  remove(): void;
}

/** Builds it in a folder of its own with `make`, so that tests side by side do not meet. */
export function buildNativeCodec(target: 'host' | 'host-sanitized'): NativeCodec {
  const folder = mkdtempSync(join(tmpdir(), 'romkiln-codec-'));
  execFileSync('make', ['-s', '-C', firmwareFolder, target, `B=${folder}`], { stdio: 'pipe' });
  const program = join(folder, target === 'host' ? 'codec' : 'codec-sanitized');
  const run = (args: readonly string[], lines: readonly string[] = []): string[] => {
    const input = Buffer.from(lines.map((line) => `${line}\n`).join(''), 'latin1');
    return execFileSync(program, args, { input, maxBuffer: 1 << 26 })
      .toString('latin1')
      .split('\n')
      .slice(0, -1);
  };
  return {
    decode: (lines) => run(['decode'], lines),
    encode: (answers) => run(['encode'], answers),
    fuzz: (seed, lines) => run(['fuzz', String(seed), String(lines)]).join('\n'),
    remove: () => rmSync(folder, { recursive: true }),
  };
}
