// The cells that a record file sets: bounded before anything is allocated, and each cell remembers the line that set it.
import type { Image } from './image.js';
import type { ReadingLog } from './reading-log.js';

/** The largest image without a chip to bound it: twice the largest parallel EEPROM of the table. */
export const cellsMax = 0x100000;

export interface CellBounds {
  /** Cells of the chip; null where none is known: then the image ends with the last cell that is set. */
  readonly cells: number | null;
  /** The file's address of cell 0. */
  readonly base: number;
}

/** Where a data record stands: its line, and the columns of its address and of its first data digit. */
export interface RecordPlace {
  readonly file: string;
  readonly line: number;
  readonly addressColumn: number;
  readonly dataColumn: number;
}

export class CellMap {
  private bytes: Uint8Array;
  /** Line that set the cell; 0: none did. */
  private lines: Uint32Array;
  private end = 0;
  private readonly limit: number;

  constructor(
    private readonly bounds: CellBounds,
    private readonly log: ReadingLog,
  ) {
    this.limit = bounds.cells ?? cellsMax;
    this.bytes = new Uint8Array(Math.min(this.limit, 0x8000)).fill(0xff);
    this.lines = new Uint32Array(this.bytes.length);
  }

  /** Sets cells from a file address on. */
  put(fileAddress: number, data: Uint8Array, where: RecordPlace): void {
    const { base } = this.bounds;
    const from = fileAddress - base;
    // A record without data defines nothing, but an address that the chip has not is a sign of the wrong file all the same.
    const to = from + Math.max(data.length, 1) - 1;
    if (from < 0 || to >= this.limit) {
      const place = { file: where.file, line: where.line, column: where.addressColumn };
      const bounds = { first: base, last: base + this.limit - 1 };
      this.log.consequence('image.outside', { place, from: fileAddress, to: to + base, ...bounds });
      return;
    }
    const end = from + data.length;
    this.grow(end);
    for (let i = 0; i < data.length; i++) {
      if (this.lines[from + i] !== 0) this.again(from + i, data[i]!, where, i);
      else {
        this.bytes[from + i] = data[i]!;
        this.lines[from + i] = where.line;
      }
    }
    this.end = Math.max(this.end, end);
  }

  /** A cell is set a second time: harmless with the same byte, a mistake with another. */
  private again(cell: number, later: number, where: RecordPlace, index: number): void {
    const place = { file: where.file, line: where.line, column: where.dataColumn + 2 * index };
    const earlier = this.bytes[cell]!;
    if (earlier === later) {
      this.log.warnAt(
        'same-bytes-twice',
        place,
        (n) => `${n === 1 ? 'one byte is' : `${n} bytes are`} set again, to the same value`,
      );
    } else {
      const facts = { place, address: cell + this.bounds.base, earlierLine: this.lines[cell]!, earlier, later };
      this.log.consequence('image.overlap', facts);
    }
  }

  private grow(end: number): void {
    if (end <= this.bytes.length) return;
    const length = Math.min(this.limit, Math.max(end, 2 * this.bytes.length));
    const bytes = new Uint8Array(length).fill(0xff);
    bytes.set(this.bytes);
    const lines = new Uint32Array(length);
    lines.set(this.lines);
    this.bytes = bytes;
    this.lines = lines;
  }

  image(name: string): Image {
    const length = this.bounds.cells ?? this.end;
    this.grow(length);
    return {
      name,
      bytes: this.bytes.slice(0, length),
      defined: Uint8Array.from(this.lines.subarray(0, length), (line) => (line === 0 ? 0 : 1)),
    };
  }
}
