// Files of 50 MB: each is read in a process of its own, whose memory tells what reading it costs.
import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import type { Reader } from './reader.js';

export const largeBytes = 50_000_000;
/** Most memory that reading may take beside the file itself, in bytes. */
export const memoryMost = 256_000_000;

/** The first good input over and over, as much of it as the size asks for. */
export function largeInput(reader: Reader): Uint8Array {
  const [good = new Uint8Array()] = reader.corpus;
  const large = new Uint8Array(largeBytes);
  for (let at = 0; at < large.length; at += good.length + 1) {
    large.set(good.subarray(0, large.length - at), at);
    if (at + good.length < large.length) large[at + good.length] = 0x0a;
  }
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
