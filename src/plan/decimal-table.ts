// A decimal display as a table: which segments every setting lights, and how that is said.
import type { DisplayContents, DisplayParts } from './decimal-display.js';
import type { Chosen } from './display-choice.js';
import { asSigned, type DigitRules, type Shown, showNumber, showText } from './display-digits.js';
import { decimalsFinding, overflowFinding, sameGlyph, silentText, withPoint } from './display-findings.js';
import { digitsWithLook } from './display-letters.js';
import { digitsOf } from './display-scale.js';
import { drawBeside } from './segment-drawing.js';
import { lettersOfSegments, pointBit } from './segment-font.js';
import { sayField, saySetting } from './setting-words.js';
import type { DisplayFacts, Fields, Finding, ListRow, OutputValues, Table } from './table.js';
import { everyValue } from './value-range.js';

const segmentOutputs = ['a', 'b', 'c', 'd', 'e', 'f', 'g', 'point'] as const;
export const displayOutputs: ReadonlyMap<string, number> = new Map(segmentOutputs.map((name) => [name, 1]));

const undefinedLevels: OutputValues = segmentOutputs.map(() => undefined);
const allLevels: OutputValues[] = [];

/** The outputs that light these segments; -1 for a place that there is not. The same list for the same segments: a chip asks for it in every cell. */
function levelsOf(segments: number): OutputValues {
  if (segments < 0) return undefinedLevels;
  allLevels[segments] ??= segmentOutputs.map((_, bit) => (segments >> bit) & 1);
  return allLevels[segments];
}

/** Readings that are kept once worked out: as many as any chip with a scan field holds; more would only cost memory. */
const mostKept = 2 ** 16;

export class DecimalTable implements Table {
  readonly inputs: ReadonlyMap<string, number>;
  readonly outputs = displayOutputs;
  readonly activeLow: ReadonlySet<string>;
  readonly contents: DisplayContents;
  readonly fields: Fields;
  readonly glyphs: ReadonlyMap<string, number>;
  readonly #rules: DigitRules;
  readonly #display: DisplayFacts;
  /** Where each field stands among the inputs. */
  readonly #index: ReadonlyMap<string, number>;
  readonly #place: number | null;
  readonly #kept = new Map<number, Shown>();
  /** By what each input counts in the number of a reading; the place counts nothing. */
  readonly #weights: readonly number[];

  constructor(readonly parts: DisplayParts) {
    const { contents, fields, glyphs, places, signed, scale, offset, decimals, unit, texts } = parts;
    this.contents = contents;
    this.fields = fields;
    this.glyphs = glyphs;
    const names = [
      ...[contents.value, contents.place, signed, decimals.by, scale.by, offset.by, unit.by],
      ...texts.flatMap(({ when }) => when.map(({ field }) => field)),
    ].filter((n): n is string => typeof n === 'string');
    this.inputs = new Map(names.map((name) => [name, fields.get(name)!.bits]));
    this.#index = new Map([...this.inputs.keys()].map((name, k) => [name, k]));
    this.#place = contents.place === undefined ? null : this.#index.get(contents.place)!;
    let weight = 1;
    this.#weights = [...this.inputs.values()].map((bits, k) => {
      if (k === this.#place) return 0;
      const own = weight;
      weight *= 2 ** bits;
      return own;
    });
    this.activeLow = new Set(contents.common === 'anode' ? segmentOutputs : []);
    const { overflow = null } = contents;
    this.#rules = {
      places,
      radix: contents.radix,
      leadingZeros: contents['leading-zeros'],
      minus: contents.minus,
      overflow: overflow === null ? null : overflowShown(overflow, places),
    };
    this.#display = displayFacts(contents, places, glyphs);
  }

  negativeWhere(field: string): readonly ReadonlyMap<string, number>[] {
    const { contents, fields, parts } = this;
    // A field that is signed by its declaration is so everywhere.
    if (field !== contents.value || parts.signed === false || fields.get(field)!.signed) return [];
    return [typeof parts.signed === 'string' ? new Map([[parts.signed, 1]]) : new Map()];
  }

  #of(inputs: readonly number[], name: string): number {
    return inputs[this.#index.get(name)!]!;
  }

  #chosen<T>(inputs: readonly number[], { by, at }: Chosen<T>): T {
    return at(by === null ? 0 : this.#of(inputs, by));
  }

  /** The number that a setting means in its last digit, whether it could be negative, its decimals and its unit. */
  #numberAt(inputs: readonly number[]) {
    const { parts, contents, fields } = this;
    const isSigned = typeof parts.signed === 'string' ? this.#of(inputs, parts.signed) === 1 : parts.signed;
    const raw = inputs[0]!;
    const value = isSigned ? asSigned(raw, fields.get(contents.value)!.bits) : raw;
    const decimals = this.#chosen(inputs, parts.decimals);
    const unit = this.#chosen(inputs, parts.unit);
    const [scale, offset] = [this.#chosen(inputs, parts.scale), this.#chosen(inputs, parts.offset)];
    const plain = scale === null && offset.over === 0n;
    // More digits behind the point than there are places never fit, whatever the number.
    const digits =
      plain || decimals >= this.#rules.places
        ? value
        : digitsOf(value, { scale, offset, decimals }, contents.radix, contents.round);
    return { value: digits, signed: isSigned || offset.over < 0n || (scale?.over ?? 1n) < 0n, decimals, unit };
  }

  /** The first text that has its say at a setting, or -1. */
  #textNumberAt(inputs: readonly number[]): number {
    return this.parts.texts.findIndex(({ when }) =>
      when.every(({ field, values }) => values.has(this.#of(inputs, field))),
    );
  }

  #shownAt(inputs: readonly number[]): Shown {
    // A number for all inputs but the place.
    let key = 0;
    for (let k = 0; k < inputs.length; k++) key += inputs[k]! * this.#weights[k]!;
    const known = this.#kept.get(key);
    if (known) return known;
    const shown = this.#show(inputs);
    if (this.#kept.size < mostKept) this.#kept.set(key, shown);
    return shown;
  }

  #show(inputs: readonly number[]): Shown {
    const text = this.#textNumberAt(inputs);
    if (text >= 0) return { ...showText(this.parts.texts[text]!.show, this.#rules.places), overflowed: false };
    const { value, signed, decimals, unit } = this.#numberAt(inputs);
    return showNumber(value, signed, decimals, this.#rules, unit);
  }

  /** The segments of one place, or null where the place field counts further than there are places. */
  #segmentsAt(inputs: readonly number[]): number | null {
    const position = this.#place === null ? 0 : this.#display.leftToRight.indexOf(inputs[this.#place]!);
    if (position < 0) return null;
    const { letters, pointAt } = this.#shownAt(inputs);
    return (this.glyphs.get(letters[position]!) ?? 0) | (pointAt === position ? pointBit : 0);
  }

  at(inputs: readonly number[]): OutputValues {
    return levelsOf(this.#segmentsAt(inputs) ?? -1);
  }

  displayAt(): DisplayFacts {
    return this.#display;
  }

  explain(inputs: readonly number[]): string {
    const setting = saySetting(this.inputs.keys(), inputs, this.fields);
    const segments = this.#segmentsAt(inputs);
    if (segments === null) return `${setting}: no such place on the display`;
    return `${setting}: the display reads "${this.#textAt(inputs)}", this place ${this.#saySegments(segments)}`;
  }

  /** The whole display as text, e.g. ` -12`. */
  #textAt(inputs: readonly number[]): string {
    const { letters, pointAt } = this.#shownAt(inputs);
    return [...letters].map((letter, i) => (i === pointAt ? `${letter}.` : letter)).join('');
  }

  #saySegments(segments: number): string {
    const letter = this.#display.letterOf(segments);
    const letters = lettersOfSegments(segments);
    if (letter === ' ') return 'is dark';
    return letter === null ? `lights the segments ${letters}` : `shows "${letter}" (${letters})`;
  }

  explainDifference(inputs: readonly number[], wanted: OutputValues, actual: OutputValues): string {
    const bits = (values: OutputValues): number => values.reduce<number>((b, lit, k) => b | ((lit ?? 0) << k), 0);
    const [should, is] = [bits(wanted), bits(actual)];
    const setting = saySetting(this.inputs.keys(), inputs, this.fields);
    const { place: name } = this.contents;
    const place = name === undefined ? 'the digit' : sayField(name, this.#of(inputs, name), this.fields);
    const wrong = [
      [is & ~should, 'lit and should be dark'],
      [should & ~is, 'dark and should be lit'],
    ] as const;
    const said = wrong.flatMap(([b, what]) => (b ? `${lettersOfSegments(b)} ${what}` : [])).join(', ');
    return [
      `${setting}: the display should read "${this.#textAt(inputs)}"; ${place} ${this.#saySegments(is)}, not ${this.#nameOf(should)}: ${said}`,
      drawBeside([
        { title: 'should', digits: [should] },
        { title: 'is', digits: [is] },
      ]),
    ].join('\n');
  }

  #nameOf(segments: number): string {
    const letter = this.#display.letterOf(segments);
    return letter === ' ' ? 'dark' : letter === null ? lettersOfSegments(segments) : `"${letter}"`;
  }

  /** All settings of the inputs but the place: what a person can set. */
  *#readings(): Generator<number[]> {
    const free = [...this.inputs.keys()].map((name, k) => (k === this.#place ? [0] : this.#valuesOf(name)));
    const total = free.reduce((product, { length }) => product * length, 1);
    for (let i = 0; i < total; i++) {
      const inputs: number[] = [];
      // The value counts fastest, so that rows of one mode stand together.
      for (let k = 0, rest = i; k < free.length; k++) {
        inputs.push(free[k]![rest % free[k]!.length]!);
        rest = Math.floor(rest / free[k]!.length);
      }
      yield inputs;
    }
  }

  #valuesOf(name: string): readonly number[] {
    return everyValue(this.fields.get(name)!);
  }

  list(): readonly ListRow[] {
    const names = [...this.inputs.keys()].filter((n) => n !== this.contents.place);
    const keep = (inputs: readonly number[]): number[] => inputs.filter((_, k) => k !== this.#place);
    return [...this.#readings()].map((inputs) => ({
      level: 0,
      when: saySetting(names, keep(inputs), this.fields),
      does: `"${this.#textAt(inputs)}"`,
    }));
  }

  findings(): readonly Finding[] {
    return [...this.#numberFindings(), ...this.#fontFindings()];
  }

  /** Numbers that do not fit, each cause once, and texts that never show. */
  *#numberFindings(): Generator<Finding> {
    const { contents, parts } = this;
    const { places } = this.#rules;
    const silent = new Set(parts.texts.keys());
    let [isDecimalsSaid, isOverflowSaid] = [false, contents.overflow !== undefined];
    for (const inputs of this.#readings()) {
      const text = this.#textNumberAt(inputs);
      silent.delete(text);
      if (text >= 0 || !this.#shownAt(inputs).overflowed) continue;
      const { value, decimals, unit } = this.#numberAt(inputs);
      const room = places - unit.length;
      // With an overflow told, a field may count further than there are places; a number in the plan may not.
      if (decimals >= room && (typeof contents.decimals !== 'string' || contents.overflow === undefined)) {
        if (!isDecimalsSaid) yield decimalsFinding(decimals, room);
        isDecimalsSaid = true;
      } else if (!isOverflowSaid && decimals < room) {
        isOverflowSaid = true;
        yield overflowFinding(withPoint(value, decimals, contents.radix), room);
      }
    }
    for (const i of silent) yield silentText(parts.texts[i]!.show, i);
  }

  *#fontFindings(): Generator<Finding> {
    const byGlyph = new Map<number, string>();
    for (const letter of digitsWithLook(this.contents)) {
      const segments = this.glyphs.get(letter)!;
      const other = byGlyph.get(segments) ?? (segments === 0 ? 'a dark digit' : undefined);
      byGlyph.set(segments, `"${letter}"`);
      if (other === undefined) continue;
      yield sameGlyph(letter, other, this.contents.glyphs?.[letter] === undefined ? ['font'] : ['glyphs', letter]);
    }
  }
}

/** Glyphs are known by capital letters, however they are written in the plan. */
const overflowShown = (overflow: NonNullable<DisplayContents['overflow']>, places: number): DigitRules['overflow'] => {
  if (overflow === 'dashes') return { show: '-'.repeat(places) };
  if (overflow === 'blank') return { show: '' };
  return overflow === 'low-digits' ? overflow : { show: overflow.show.toUpperCase() };
};

function displayFacts(contents: DisplayContents, places: number, glyphs: ReadonlyMap<string, number>): DisplayFacts {
  const order = Array.from({ length: places }, (_, i) => i);
  const letters = new Map([...glyphs].reverse().map(([letter, segments]) => [segments, letter]));
  return {
    segments: segmentOutputs,
    place: contents.place ?? null,
    leftToRight: contents.order === 'left-to-right' ? order : order.reverse(),
    letterOf: (segments) => {
      const letter = letters.get(segments & ~pointBit);
      return letter === undefined ? null : segments & pointBit ? `${letter}.` : letter;
    },
    segmentsOf: (letter) => glyphs.get(letter.toUpperCase()) ?? null,
  };
}
