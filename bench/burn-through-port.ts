// Burns a whole AT28C256 through the native serial port at the given path and prints what it cost this process, as JSON.
import { findPart } from '../src/chip/chip-table.js';
import type { Link } from '../src/link/link.js';
import { openSerial } from '../src/link/open-serial.js';
import { firmwareLimits, greetingBaud } from '../src/protocol/limits.js';
import { chipChoice } from '../src/writer/chip-choice.js';
import { openWriter } from '../src/writer/writer.js';
import { fullImage } from './job-on-bench.js';

export interface PortCost {
  readonly wallMs: number;
  readonly cpuMs: number;
  readonly blocks: number;
  readonly resent: number;
}

/** CPU and wall time from the first page line until the last answer was heard. */
async function burn(link: Link): Promise<PortCost> {
  const part = findPart('AT28C256');
  const bytes = fullImage(part.cells, 3);
  const size = part.pageBytes.value;
  const blocks = Array.from({ length: part.cells / size }, (_, i) => ({
    address: i * size,
    bytes: bytes.subarray(i * size, (i + 1) * size),
  }));
  const writer = await openWriter(link);
  await writer.setRate(500_000);
  await writer.chip(chipChoice(part));
  await writer.presence(0);
  const cpu = process.cpuUsage();
  const begin = performance.now();
  const outcomes = await writer.writeBlocks(blocks);
  const wallMs = performance.now() - begin;
  const { user, system } = process.cpuUsage(cpu);
  if (outcomes.some((o) => o.kind !== 'written')) throw new Error('a block did not take');
  const { resent } = writer.counts;
  await writer.close();
  return { wallMs, cpuMs: (user + system) / 1000, blocks: blocks.length, resent };
}

export async function main([path = '']: readonly string[]): Promise<void> {
  const cost = await burn(await openSerial(path, { baud: greetingBaud, lineMax: firmwareLimits.line }));
  process.stdout.write(JSON.stringify(cost));
}
