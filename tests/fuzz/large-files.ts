// Files of 50 MB: each is read in a process of its own, whose memory tells what reading it costs.
import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import type { Reader } from './reader.js';

export const largeBytes = 50_000_000;
/** Most memory that reading may take beside the file itself, in bytes. */
export const memoryMost = 256_000_000;

/** The same good lines over and over, as much of them as the size asks for, and an end. */
export function largeInput(reader: Reader): Uint8Array {
  const unit = reader.large?.unit ?? Buffer.concat([reader.corpus[0]!, Buffer.from('\n')]);
  const end = reader.large?.end ?? new Uint8Array();
  const large = new Uint8Array(Math.floor(largeBytes / unit.length) * unit.length + end.length);
  for (let at = 0; at + unit.length <= large.length - end.length; at += unit.length) large.set(unit, at);
  large.set(end, large.length - end.length);
  return large;
}

/** Reads in this process; tells how much more memory it came to than with the file alone. */
export async function memoryOfReading(reader: Reader): Promise<number> {
  const input = largeInput(reader);
  const before = process.memoryUsage().rss;
  try {
    await reader.read(input);
  } catch {
    // Whether it is refused is judged elsewhere.
  }
  return process.resourceUsage().maxRSS * 1024 - before;
}

/** The same in a fresh process, by the program `fuzz`. Null where that process did not come to its end. */
export function memoryInProcess(name: string): number | null {
  const program = fileURLToPath(new URL('./fuzz.js', import.meta.url));
  const { stdout, status } = spawnSync(process.execPath, [program, '--large', name], { encoding: 'utf8' });
  return status === 0 ? Number(stdout) : null;
}
