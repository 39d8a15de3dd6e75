// What a ROM means, apart from its pins: fields in, outputs out. Every kind of contents compiles to a Table.
import type { GenericSchema } from 'valibot';
import type { Forgiving } from './sound-part.js';

/** A place inside a plan: keys and indexes from the root (in a Finding of a Table: from the root of its contents). */
export type Path = readonly (string | number)[];

/** An input field as the plan declares it under `fields`. */
export interface Field {
  readonly name: string;
  /** Width; without a sign the field takes 0 .. 2^bits - 1. */
  readonly bits: number;
  /** Its bits are two's complement, everywhere. Tables and pins speak of bits; only words for people know the sign. */
  readonly signed: boolean;
  /** The bits that it can carry; null for any. The circuit never has the others, so that nothing is wanted there. */
  readonly values: ReadonlySet<number> | null;
  /** The circuit runs through all its values by itself (digit select), so a person sees them all at once. */
  readonly scanned: boolean;
  /** The builder's names for single values (as bits), e.g. 0 -> "raw", 1 -> "signed". */
  readonly names: ReadonlyMap<number, string>;
}

export type Fields = ReadonlyMap<string, Field>;

/** Something that `check` says. Errors keep a plan from being built, warnings do not. */
export interface Finding {
  readonly severity: 'error' | 'warning';
  /** A dotted word that stays the same, e.g. `pin.twice`. */
  readonly code: string;
  /** One sentence with the facts. */
  readonly message: string;
  /** One sentence: why it matters, or what would have been right. */
  readonly why: string;
  readonly path: Path;
  /** Point at the last key of the path instead of the value under it. */
  readonly onKey?: boolean;
  /** The name that is not known. Of several findings about one name only the first is said. */
  readonly unknown?: string;
  /** A place inside a text value, line and column from 0: for contents written as lines of a block. */
  readonly within?: { readonly line: number; readonly column: number };
  /** Another such place, of which the message speaks as `anotherPlace`. */
  readonly other?: { readonly line: number; readonly column: number };
}

/** Stands in a message for the line of `other`, until it is known where in the file that is. */
export const anotherPlace = '\u{e000}';

/** One line of `list`: a heading has no `does`. */
export interface ListRow {
  /** 0 for headings and flat tables, 1 for what stands under a heading, and so on. */
  readonly level: number;
  /** The setting, in the builder's words. */
  readonly when: string;
  /** What the outputs are then; only what differs from rest. Empty on a heading. */
  readonly does: string;
}

/** Values of the outputs, in the order of `Table.outputs`; undefined where nothing is said about that output. */
export type OutputValues = readonly (number | undefined)[];

export interface Table {
  /** Input fields that the table reads: name -> width in bits. The order is the order of `inputs` below. */
  readonly inputs: ReadonlyMap<string, number>;
  /** Outputs: name -> width in bits. The order is the order of OutputValues. */
  readonly outputs: ReadonlyMap<string, number>;
  /**
   * Outputs whose pins carry the complement. `at` always speaks in meaning (1 = lit, asserted); polarity is applied where
   * the byte is put together.
   */
  readonly activeLow: ReadonlySet<string>;
  /** Output values for one setting of the inputs; undefined = don't care. Called once a cell, so it must be quick. */
  at(inputs: readonly number[]): OutputValues;
  /**
   * What this setting means and does, in the builder's words, in one line. `outputs` are those of one ROM, where a table
   * spans several that have different inputs.
   */
  explain(inputs: readonly number[], outputs?: ReadonlySet<string>): string;
  /** What differs at this setting, in the builder's words. An output not read back is undefined in both. May be several lines. */
  explainDifference?(inputs: readonly number[], wanted: OutputValues, actual: OutputValues): string;
  /** At this setting the outputs are the segments of a display. */
  displayAt?(inputs: readonly number[]): DisplayFacts | null;
  /** Banks: two outputs that never speak at one setting may share a data pin. */
  neverTogether?(one: string, other: string): boolean;
  /** Everything wrong or doubtful with the contents; paths from the root of the contents. May be slow (but linear). */
  findings(): readonly Finding[];
  list(): readonly ListRow[];
  /**
   * Where a field is taken as two's complement: each map says what other fields have to be for it, and one of them is enough.
   * Not given, or empty: nowhere.
   */
  negativeWhere?(field: string): readonly ReadonlyMap<string, number>[];
  /** Names that the contents give to values of an input, beside the field's own: the instructions of opcodes, the labels of addresses. */
  namesIn?(field: string): readonly (readonly [value: number, name: string])[];
  /** Only inputs and outputs are known: the contents have a mistake. */
  readonly outline?: true;
}

/** A display of seven segments and a point, seen whole. Segments are bits: a = bit 0 .. g = bit 6, point = bit 7. */
export interface DisplayFacts {
  /** The eight outputs in the order of the bits. */
  readonly segments: readonly string[];
  /** The field that chooses the digit; null on a display of one digit. */
  readonly place: string | null;
  /** Values of the place field, leftmost digit first. */
  readonly leftToRight: readonly number[];
  /** What a person reads there, e.g. `7`, `-`, ` `, with `.` behind it where the point is lit; null where it is no known glyph. */
  letterOf(segments: number): string | null;
  /** Segments of a letter (one that `letterOf` may give, without point), or null. */
  segmentsOf(letter: string): number | null;
}

/** Reads a file that a plan names, relative to the plan. Throws where it cannot. */
export type ReadFile = (name: string) => Uint8Array;

/** What compiling gives: no table where the contents cannot be understood; then at least one finding is an error. */
export interface Compiled {
  readonly table: Table | null;
  /** Mistakes met while compiling. `Table.findings()` need not repeat them. */
  readonly findings: readonly Finding[];
}

/** One kind of contents: its schema (an object with `kind: literal`) and its compiler. */
export interface ContentsKind<Contents = never> {
  readonly kind: string;
  readonly schema: GenericSchema<unknown, Contents>;
  /**
   * `contents` has passed the schema; `fields` are all that the plan declares; `readFile` reads what the contents name, and is
   * null where nothing can be read. Never throws for a mistake of the builder.
   */
  compile(contents: Contents, fields: Fields, readFile: ReadFile | null): Compiled;
  /** What may be wrong in the shape and the rest is judged all the same. */
  readonly forgiving: Forgiving;
  /** Outputs with their widths, where contents that cannot be compiled tell them; else null. */
  outputsOf(written: Readonly<Record<string, unknown>>): ReadonlyMap<string, number> | null;
}
