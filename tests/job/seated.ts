// A small chip in the socket of a mock writer, as the room job sees it: an open writer and a part of the chip table, cut short.
import { findPart } from '../../src/chip/chip-table.js';
import type { Part } from '../../src/chip/part.js';
import { seededRandom } from '../../src/ground/random.js';
import type { Image } from '../../src/image/image.js';
import { chipChoice } from '../../src/writer/chip-choice.js';
import { openWriter, type Writer } from '../../src/writer/writer.js';
import { MockChip, type MockChipOptions } from '../mock/mock-chip.js';
import { type MockWriter, type MockWriterOptions, mockWriter } from '../mock/mock-writer.js';

/** 16 pages of 64 cells, with protection codes. */
export const pagePart: Part = { ...findPart('AT28C64B'), cells: 1024, addressLines: 10 };
/** 512 cells, written one by one; no protection codes. */
export const cellPart: Part = { ...findPart('AT28C16E'), cells: 512, addressLines: 9 };

export interface Seated {
  readonly mock: MockWriter;
  readonly writer: Writer;
  readonly chip: MockChip;
  /** What the chip held at first. */
  readonly before: Uint8Array;
  /** Requests that read, as they were asked: `read 0 1024`, `sums 64 128`. */
  readonly asked: string[];
}

export interface SeatedOptions extends Partial<Omit<MockWriterOptions, 'chip'>> {
  readonly part?: Part;
  readonly chip?: Partial<MockChipOptions>;
}

/** Puts a chip with random contents into the socket and opens the writer. */
export async function seated({ part = pagePart, chip: more = {}, ...options }: SeatedOptions = {}): Promise<Seated> {
  const cells = more.cells ?? part.cells;
  const chip = new MockChip({
    cells,
    page: part.pageBytes.value,
    cycleUs: 200,
    codes: part.protection.value,
    contents: seededRandom(23).bytes(cells),
    ...more,
  });
  const mock = mockWriter({ ...options, chip });
  const writer = await openWriter(await mock.open('mock', { baud: 115200, lineMax: 4096 }));
  await writer.chip(chipChoice(part));
  const asked: string[] = [];
  const { read, sums } = writer;
  writer.read = (from, count, ...rest) => {
    asked.push(`read ${from} ${count}`);
    return read.call(writer, from, count, ...rest);
  };
  writer.sums = (from, count, ...rest) => {
    asked.push(`sums ${from} ${count}`);
    return sums.call(writer, from, count, ...rest);
  };
  return { mock, writer, chip, before: chip.cells.slice(), asked };
}

/** An image that wants what `cells` holds, everywhere. */
export const imageOf = (cells: Uint8Array): Image => ({
  name: 'skerry',
  bytes: cells.slice(),
  defined: new Uint8Array(cells.length).fill(1),
});

/** An image that defines these cells only; what it holds elsewhere means nothing. */
export function imageWith(cellCount: number, wanted: Readonly<Record<number, number>>): Image {
  const image = { name: 'skerry', bytes: new Uint8Array(cellCount).fill(0x5e), defined: new Uint8Array(cellCount) };
  for (const [cell, byte] of Object.entries(wanted)) {
    image.bytes[Number(cell)] = byte;
    image.defined[Number(cell)] = 1;
  }
  return image;
}

/** These cells with all bits of some of them turned round. */
export function withChanged(cells: Uint8Array, ...changed: readonly number[]): Uint8Array {
  const other = cells.slice();
  for (const cell of changed) other[cell]! ^= 0xff;
  return other;
}

export const everyCell = (part: Part): { from: number; to: number } => ({ from: 0, to: part.cells - 1 });

/** The same cells with a page of the chip changed in every cell: a whole block to write. */
export const withChangedPages = (cells: Uint8Array, ...pages: readonly number[]): Uint8Array =>
  withChanged(cells, ...pages.flatMap((page) => Array.from({ length: 64 }, (_, i) => page * 64 + i)));
