// All bytes of contents `pieces`, laid out: every piece in its place, then the sums over them.
import { publishedSum } from '../ground/published-sums.js';
import type { Range } from '../image/range.js';
import type { Complaints } from './complaints.js';
import { lengthOf, type Piece, sayAddress } from './piece-reading.js';

/** Owners of bytes that no piece sets. */
const nobody = -1;

export class PieceLayout {
  readonly bytes: Uint8Array;
  /** Which piece sets each byte, or -1. */
  readonly owners: Int16Array;

  /** Null stands for a piece that could not be read. Complaints count from the contents. */
  constructor(
    readonly pieces: readonly (Piece | null)[],
    readonly size: number,
    readonly fill: number | null,
    complaints: Complaints,
  ) {
    this.bytes = new Uint8Array(size).fill(fill ?? 0);
    this.owners = new Int16Array(size).fill(nobody);
    for (const [index, piece] of pieces.entries()) if (piece) this.#claim(index, piece, complaints);
    for (const [index, piece] of pieces.entries()) if (piece?.kind === 'sum') this.#sum(index, piece, complaints);
  }

  /** Whether anything is said of a byte. */
  isDefined(address: number): boolean {
    return this.fill !== null || this.owners[address] !== nobody;
  }

  /** Takes the bytes of a piece, and complains where they are not there or taken already; the bytes of a sum come later. */
  #claim(index: number, piece: Piece, { error }: Complaints): void {
    const { at, name } = piece;
    const length = lengthOf(piece);
    const path = ['pieces', index];
    if (at + length > this.size) {
      const message = `${name} goes from ${sayAddress(at)} to ${sayAddress(at + length - 1)}, and there are bytes from 0 to ${sayAddress(this.size - 1)}.`;
      const why =
        piece.kind === 'bytes' && piece.from !== null
          ? 'Write "part: 0x8000..0x9FFF" where only those addresses of the file are meant; the first of them goes to "at".'
          : 'Addresses count the bytes of all chips together.';
      error('piece.outside', message, why, path);
      return;
    }
    const image = piece.kind === 'bytes' ? piece.image : null;
    let taken = nobody;
    for (let i = 0; i < length; i++) {
      if (image && !image.defined[i]) continue;
      const before = this.owners[at + i]!;
      if (before !== nobody && taken === nobody) {
        taken = before;
        const message = `${name} sets the byte ${sayAddress(at + i)}, which ${this.pieces[before]!.name} sets already.`;
        error('piece.overlap', message, `Each byte comes from one piece; the other is number ${before + 1}.`, path);
      }
      this.owners[at + i] = index;
      if (image) this.bytes[at + i] = image.bytes[i]!;
    }
  }

  #sum(index: number, piece: Piece & { kind: 'sum' }, { error }: Complaints): void {
    const path = ['pieces', index, 'of'];
    const last = this.size - 1;
    const beyond = piece.of.find(({ to }) => to > last);
    if (beyond) {
      error(
        'piece.range',
        `There is no byte ${sayAddress(beyond.to)}.`,
        `Bytes run from 0 to ${sayAddress(last)}.`,
        path,
      );
      return;
    }
    let open = 0;
    let firstOpen = 0;
    for (const { from, to } of piece.of) {
      for (let address = from; address <= to; address++) {
        const owner = this.owners[address]!;
        if (owner >= index && this.pieces[owner]!.kind === 'sum') {
          const own = owner === index;
          const message = `The sum covers ${own ? 'its own bytes' : 'the bytes of a later sum'}, at ${sayAddress(address)}.`;
          const why = own
            ? 'Leave them out: "of" may be a list of ranges.'
            : 'Sums are worked out in the order written; write that one first.';
          error('piece.sum', message, why, path);
          return;
        }
        if (!this.isDefined(address) && open++ === 0) firstOpen = address;
      }
    }
    if (open > 0) {
      const bytes = open === 1 ? 'a byte that no piece sets' : `${open} bytes that no piece sets, the first`;
      error(
        'piece.sum',
        `The sum covers ${bytes} at ${sayAddress(firstOpen)}.`,
        'Write "fill: 0xFF" beside "pieces", or sum less.',
        path,
      );
      return;
    }
    const value = publishedSum(piece.sum, this.#covered(piece.of));
    const length = lengthOf(piece);
    for (let i = 0; i < length; i++) {
      this.bytes[piece.at + i] = value >>> (8 * (piece.highFirst ? length - 1 - i : i));
    }
  }

  *#covered(ranges: readonly Range[]): Generator<number> {
    for (const { from, to } of ranges) for (let address = from; address <= to; address++) yield this.bytes[address]!;
  }
}
