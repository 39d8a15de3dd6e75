// A decimal display as a table: which segments every setting lights, and how that is said.
import type { DisplayContents } from './decimal-display.js';
import { asSigned, type DigitRules, type Shown, showNumber } from './display-digits.js';
import { drawBeside } from './segment-drawing.js';
import { lettersOfSegments, pointBit } from './segment-font.js';
import { sayField, saySetting } from './setting-words.js';
import type { DisplayFacts, Fields, Finding, ListRow, OutputValues, Table } from './table.js';

const segmentOutputs = ['a', 'b', 'c', 'd', 'e', 'f', 'g', 'point'] as const;
export const displayOutputs: ReadonlyMap<string, number> = new Map(segmentOutputs.map((name) => [name, 1]));

export class DecimalTable implements Table {
  readonly inputs: ReadonlyMap<string, number>;
  readonly outputs = displayOutputs;
  readonly activeLow: ReadonlySet<string>;
  readonly #rules: DigitRules;
  readonly #display: DisplayFacts;

  constructor(
    readonly contents: DisplayContents,
    readonly fields: Fields,
    readonly glyphs: ReadonlyMap<string, number>,
  ) {
    const names = [contents.value, contents.place, contents.signed, contents.decimals].filter(
      (n): n is string => typeof n === 'string',
    );
    this.inputs = new Map(names.map((name) => [name, fields.get(name)!.bits]));
    this.activeLow = new Set(contents.common === 'anode' ? segmentOutputs : []);
    const places = contents.places ?? (contents.place ? 2 ** Math.min(4, fields.get(contents.place)!.bits) : 1);
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
    const { value, signed } = this.contents;
    if (field !== value || signed === false) return [];
    return [typeof signed === 'string' ? new Map([[signed, 1]]) : new Map()];
  }

  /** The number that a setting means, whether it could be negative, and its decimals. */
  #numberAt(inputs: readonly number[]): { value: number; signed: boolean; decimals: number } {
    const { contents, fields } = this;
    let next = contents.place ? 2 : 1;
    const signed = typeof contents.signed === 'string' ? inputs[next++] === 1 : contents.signed;
    const decimals = typeof contents.decimals === 'string' ? inputs[next]! : contents.decimals;
    const raw = inputs[0]!;
    return { value: signed ? asSigned(raw, fields.get(contents.value)!.bits) : raw, signed, decimals };
  }

  #shownAt(inputs: readonly number[]): Shown {
    const { value, signed, decimals } = this.#numberAt(inputs);
    return showNumber(value, signed, decimals, this.#rules);
  }

  /** The segments of one place, or null where the place field counts further than there are places. */
  #segmentsAt(inputs: readonly number[]): number | null {
    const position = this.contents.place ? this.#display.leftToRight.indexOf(inputs[1]!) : 0;
    return position < 0 ? null : this.#segmentsOf(this.#shownAt(inputs), position);
  }

  #segmentsOf({ letters, pointAt }: Shown, position: number): number {
    return (this.glyphs.get(letters[position]!) ?? 0) | (pointAt === position ? pointBit : 0);
  }

  at(inputs: readonly number[]): OutputValues {
    const segments = this.#segmentsAt(inputs);
    return segmentOutputs.map((_, bit) => (segments === null ? undefined : (segments >> bit) & 1));
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
    const place = this.contents.place ? sayField(this.contents.place, inputs[1]!, this.fields) : 'the digit';
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
    const free = [...this.inputs].map(([name, bits]) => (name === this.contents.place ? 1 : 2 ** bits));
    const total = free.reduce((a, b) => a * b, 1);
    for (let i = 0; i < total; i++) {
      const inputs: number[] = [];
      // The value counts fastest, so that rows of one mode stand together.
      for (let k = 0, rest = i; k < free.length; k++) {
        inputs.push(rest % free[k]!);
        rest = Math.floor(rest / free[k]!);
      }
      yield inputs;
    }
  }

  list(): readonly ListRow[] {
    const names = [...this.inputs.keys()].filter((n) => n !== this.contents.place);
    const keep = (inputs: readonly number[]): number[] => inputs.filter((_, k) => !(this.contents.place && k === 1));
    return [...this.#readings()].map((inputs) => ({
      level: 0,
      when: saySetting(names, keep(inputs), this.fields),
      does: `"${this.#textAt(inputs)}"`,
    }));
  }

  findings(): readonly Finding[] {
    return [...this.#overflowFindings(), ...this.#fontFindings()];
  }

  *#overflowFindings(): Generator<Finding> {
    if (this.contents.overflow !== undefined) return;
    for (const inputs of this.#readings()) {
      if (!this.#shownAt(inputs).overflowed) continue;
      const { value } = this.#numberAt(inputs);
      yield {
        severity: 'error',
        code: 'display.overflow',
        message: `The value ${value.toString(this.#rules.radix).toUpperCase()} does not fit in ${this.#rules.places} places, and the plan does not say what shows then.`,
        why: 'Add "overflow: dashes", blank, low-digits or { show: "OL" }, or wire more places.',
        path: [],
      };
      return;
    }
  }

  *#fontFindings(): Generator<Finding> {
    const byGlyph = new Map<number, string>();
    for (let digit = 0; digit < this.#rules.radix; digit++) {
      const letter = digit.toString(16).toUpperCase();
      const segments = this.glyphs.get(letter)!;
      const other = byGlyph.get(segments) ?? (segments === 0 ? 'a dark digit' : undefined);
      byGlyph.set(segments, `"${letter}"`);
      if (other === undefined) continue;
      yield {
        severity: 'warning',
        code: 'display.same-glyph',
        message: `"${letter}" looks the same as ${other} in this font.`,
        why: 'A reader could not tell them apart; choose another font, or give one a glyph of its own.',
        path: this.contents.glyphs?.[letter] === undefined ? ['font'] : ['glyphs', letter],
      };
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
