// Contents `pieces`: files, texts and check sums placed at addresses, as they are or split over several chips.
import { type Complaints, complaints, meantOrKnown } from './complaints.js';
import { PieceLayout } from './piece-layout.js';
import { lengthOf, type Piece, readPiece, sayAddress } from './piece-reading.js';
import { piecesSchema, type WrittenPieces } from './piece-schema.js';
import { readable } from './schema-words.js';
import { saySetting } from './setting-words.js';
import type { Compiled, ContentsKind, Fields, ListRow, OutputValues, Table } from './table.js';
import { tooLarge } from './value-grid.js';

/** Bits of one byte of a word: the width of every output. */
const byteBits = 8;

const outputsOf = (names: readonly string[]): ReadonlyMap<string, number> => new Map(names.map((n) => [n, byteBits]));

const sayByte = (byte: number): string => `0x${byte.toString(16).toUpperCase().padStart(2, '0')}`;

class PiecesTable implements Table {
  readonly activeLow = new Set<string>();
  readonly #names: readonly string[];

  constructor(
    readonly layout: PieceLayout,
    readonly inputs: ReadonlyMap<string, number>,
    readonly outputs: ReadonlyMap<string, number>,
    readonly fields: Fields,
  ) {
    this.#names = [...outputs.keys()];
  }

  at(inputs: readonly number[]): OutputValues {
    const first = inputs[0]! * this.#names.length;
    return this.#names.map((_, k) => (this.layout.isDefined(first + k) ? this.layout.bytes[first + k] : undefined));
  }

  explain(inputs: readonly number[], outputs?: ReadonlySet<string>): string {
    const values = this.at(inputs);
    const said = this.#names.flatMap((name, k) => {
      if (outputs && !outputs.has(name)) return [];
      const value = values[k];
      return `${name} ${value === undefined ? 'is set by no piece' : `${sayByte(value)}, ${this.#origin(inputs, k)}`}`;
    });
    return `${this.#setting(inputs)}: ${said.join('; ')}`;
  }

  explainDifference(inputs: readonly number[], wanted: OutputValues, actual: OutputValues): string {
    const said = this.#names.flatMap((name, k) => {
      const [should, is] = [wanted[k], actual[k]];
      if (should === undefined || is === undefined || should === is) return [];
      return `${name} is ${sayByte(is)} and should be ${sayByte(should)}, ${this.#origin(inputs, k)}`;
    });
    return `${this.#setting(inputs)}: ${said.join('; ')}`;
  }

  #setting(inputs: readonly number[]): string {
    return saySetting(this.inputs.keys(), inputs, this.fields);
  }

  /** Where a byte comes from: `dewpoint.bin at 0x0012`. */
  #origin(inputs: readonly number[], lane: number): string {
    const address = inputs[0]! * this.#names.length + lane;
    const piece = this.layout.pieces[this.layout.owners[address]!];
    if (!piece) return 'the fill';
    const place = address - piece.at;
    if (piece.kind === 'bytes' && piece.from !== null) return `${piece.name} at ${sayAddress(piece.from + place)}`;
    return lengthOf(piece) === 1 ? piece.name : `byte ${place} of ${piece.name}`;
  }

  findings(): readonly [] {
    return [];
  }

  list(): readonly ListRow[] {
    const pieces = this.layout.pieces as readonly Piece[];
    const rows = [...pieces]
      .sort((a, b) => a.at - b.at)
      .map((piece) => ({ level: 0, when: sayExtent(piece), does: this.#say(piece) }));
    const { fill } = this.layout;
    return fill === null ? rows : [...rows, { level: 0, when: 'elsewhere', does: sayByte(fill) }];
  }

  #say(piece: Piece): string {
    if (piece.kind === 'bytes') return piece.about;
    const ranges = piece.of.map(({ from, to }) => `${sayAddress(from)}..${sayAddress(to)}`).join(', ');
    const length = lengthOf(piece);
    const bytes = [...this.layout.bytes.subarray(piece.at, piece.at + length)].map(sayByte).join(' ');
    return `${piece.sum} of ${ranges}: ${bytes}`;
  }
}

const sayExtent = (piece: Piece): string => {
  const last = piece.at + lengthOf(piece) - 1;
  return last === piece.at ? sayAddress(last) : `${sayAddress(piece.at)}..${sayAddress(last)}`;
};

export const piecesContents: ContentsKind<WrittenPieces> = {
  kind: 'pieces',
  schema: piecesSchema,
  forgiving: { leaveOut: ['about'], standIns: {} },
  outputsOf: ({ outputs }) => {
    const names = readable(piecesSchema.entries.outputs, outputs);
    return names && outputsOf(names);
  },
  compile({ address, outputs: names, pieces, fill }, fields, readFile): Compiled {
    const complaining = complaints();
    const { findings } = complaining;
    const field = fields.get(address);
    if (!field) {
      complaining.error('field.unknown', `There is no field "${address}".`, meantOrKnown(address, fields.keys()), [
        'address',
      ]);
    }
    const read = pieces.map((written, i) => readPiece(written, readFile, complaining.under(['pieces', i])));
    if (!field) return { table: null, findings };
    const inputs = new Map([[field.name, field.bits]]);
    const outputs = outputsOf(names);
    if (tooLarge(inputs, outputs, complaining)) return { table: null, findings };
    const layout = new PieceLayout(read, 2 ** field.bits * names.length, fill ?? null, complaining);
    return isSound(complaining)
      ? { table: new PiecesTable(layout, inputs, outputs, fields), findings }
      : { table: null, findings };
  },
};

const isSound = ({ findings }: Complaints): boolean => findings.every((f) => f.severity !== 'error');
