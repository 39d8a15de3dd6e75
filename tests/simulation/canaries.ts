// What breaks each promise: chips, disks and benches that lie, to show that the judge sees it.
import type { ByteLoad } from '../../src/chip/byte-load.js';
import { MockChip, type MockChipOptions } from '../mock/mock-chip.js';
import { mockBench } from './mock-bench.js';
import type { Step } from './scenario.js';
import type { Disk, MakeBench } from './seed-run.js';
import type { RunSize, Trouble } from './trouble.js';

export interface Canary {
  readonly promise: number;
  readonly what: string;
  readonly make?: MakeBench;
  readonly disk?: Disk;
  /** What has to happen besides. */
  readonly troubles?: (size: RunSize) => readonly Trouble[];
  /** Only steps of these commands. */
  readonly commands?: readonly Step['command'][];
}

/** Stores one bit otherwise than it was told, and shows what it was told. */
export class LyingChip extends MockChip {
  private readonly told = new Map<number, number>();

  override write(loads: readonly ByteLoad[], nowMs: number): void {
    super.write(loads, nowMs);
    for (const { address, byte } of loads) this.told.set(address & (this.cells.length - 1), byte);
    const cell = (loads.at(-1)?.address ?? 0) & (this.cells.length - 1);
    this.cells[cell]! ^= 1;
  }

  override read(address: number, nowMs: number): number {
    const shown = super.read(address, nowMs);
    return this.busy(nowMs) ? shown : (this.told.get(address & (this.cells.length - 1)) ?? shown);
  }
}

/** Writes a cell far away along with every page. */
export class StrayChip extends MockChip {
  override write(loads: readonly ByteLoad[], nowMs: number): void {
    super.write(loads, nowMs);
    // Three address lines away: one line away the tool looks for itself.
    const cell = ((loads[0]?.address ?? 0) ^ (7 * 256)) & (this.cells.length - 1);
    this.cells[cell] = loads[0]!.byte ^ 0x55;
  }
}

/** Is write-protected after every page that it takes, as if the codes had come. */
class SelfProtectingChip extends MockChip {
  override write(loads: readonly ByteLoad[], nowMs: number): void {
    super.write(loads, nowMs);
    this.protected = true;
    this.cellsStayOpen();
  }

  /** What it takes goes on being stored, so that nothing else is wrong. */
  private cellsStayOpen(): void {
    Object.assign(this, { codes: false });
  }
}

/** Wears a page far away along with every page. */
class TiringChip extends MockChip {
  override write(loads: readonly ByteLoad[], nowMs: number): void {
    super.write(loads, nowMs);
    this.wear[((loads[0]?.address ?? 0) ^ (7 * 256)) & (this.cells.length - 1)]!++;
  }
}

const seated =
  (seat: (options: MockChipOptions) => MockChip): MakeBench =>
  (scenario, troubles) =>
    mockBench(scenario, troubles, seat);

/** A disk on which files whose path has this in it are not as they were written. */
const spoiling =
  (part: string, spoiled: (data: Uint8Array | string) => Uint8Array | string): Disk =>
  (files) => {
    const replace = files.replace.bind(files);
    files.replace = (path, data, options) => replace(path, path.includes(part) ? spoiled(data) : data, options);
    return files;
  };

export const canaries: readonly Canary[] = [
  { promise: 1, what: 'a chip shows what it did not store', make: seated((o) => new LyingChip(o)) },
  { promise: 2, what: 'a write changes a cell far away', make: seated((o) => new StrayChip(o)) },
  {
    promise: 3,
    what: 'the program meets a fault of its own',
    disk: (files) => {
      files.append = () => {
        throw new TypeError('nobody expected this');
      };
      return files;
    },
  },
  {
    promise: 4,
    what: 'the cable stays out when all is said to be in order again',
    make: (scenario, troubles) => ({ ...mockBench(scenario, troubles), lift: async () => {}, replug: async () => {} }),
    troubles: () => [
      { at: 'line', kind: 'hangs', mishap: { kind: 'hangs', line: 1 } },
      { at: 'line', kind: 'unplugged', mishap: { kind: 'unplugged', way: 'to-writer', at: 3 } },
    ],
  },
  { promise: 5, what: 'the keep forgets', disk: spoiling('/keep/objects/', (data) => data.slice(0, 1)) },
  {
    promise: 6,
    what: 'the note of a writing is lost, and the process is killed',
    disk: spoiling('/keep/records/', (data) => {
      const { burn: _, ...rest } = JSON.parse(String(data)) as { burn?: unknown };
      return JSON.stringify(rest);
    }),
    troubles: (size) => [{ at: 'host', kind: 'killed', line: Math.max(1, size.lines - 2) }],
    commands: ['burn'],
  },
  { promise: 7, what: 'the chip is protected, and nobody asked', make: seated((o) => new SelfProtectingChip(o)) },
  { promise: 8, what: 'a write wears a page far away', make: seated((o) => new TiringChip(o)) },
];
