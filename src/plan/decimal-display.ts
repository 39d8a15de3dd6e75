// Contents `decimal-display`: a binary number shown as digits on a seven-segment display, one digit at a time.
import * as v from 'valibot';
import { type Complaints, complaints } from './complaints.js';
import { DecimalTable, displayOutputs } from './decimal-table.js';
import { alternatives, type Chosen, chosenSchema, readChosen } from './display-choice.js';
import { readGlyphs } from './display-letters.js';
import { type Fraction, type Rounding, readFraction, roundings } from './display-scale.js';
import { aboutSchema, nameSchema, wholeNumber } from './schema-words.js';
import { fontNames } from './segment-font.js';
import type { Compiled, ContentsKind, Fields } from './table.js';
import { readWhen, whenSchema } from './truth-row.js';
import type { Choice } from './value-choice.js';

/** Places of a display at most; no number that has more digits behind its point can be shown. */
const mostPlaces = 16;

const overflowWords = ['dashes', 'blank', 'low-digits'] as const;
const roundingWords = Object.keys(roundings) as Rounding[];
const saidFraction = 'a number such as 9/5, 0.5 or 32';
const fractionSchema = v.union([v.number(), v.string()], saidFraction);
const textSchema = v.pipe(v.string('a text'), v.maxLength(mostPlaces, `a text of at most ${mostPlaces} letters`));

const schema = v.strictObject({
  kind: v.literal('decimal-display'),
  about: aboutSchema,
  value: nameSchema,
  place: v.optional(nameSchema),
  order: v.optional(v.picklist(['left-to-right', 'right-to-left'], 'left-to-right or right-to-left'), 'left-to-right'),
  places: v.optional(wholeNumber(1, mostPlaces)),
  signed: v.optional(v.union([v.boolean(), nameSchema], 'true, false, or the name of the field that says so')),
  scale: v.optional(chosenSchema(fractionSchema, saidFraction)),
  offset: v.optional(chosenSchema(fractionSchema, saidFraction)),
  round: v.optional(v.picklist(roundingWords, `one of ${roundingWords.join(', ')}`), 'half-away'),
  unit: v.optional(chosenSchema(textSchema, 'a text behind the number')),
  texts: v.optional(v.array(v.strictObject({ when: whenSchema, show: textSchema })), []),
  'leading-zeros': v.optional(v.picklist(['blank', 'show'], 'blank or show'), 'blank'),
  minus: v.optional(v.picklist(['floating', 'fixed'], 'floating or fixed'), 'floating'),
  decimals: v.optional(
    v.union(
      [chosenSchema(wholeNumber(0, mostPlaces - 1), 'a number of digits'), nameSchema],
      'a number of digits behind the point, a field, or { by: field, to: { value: ... } }',
    ),
    0,
  ),
  radix: v.optional(v.picklist([10, 16], '10 or 16'), 10),
  overflow: v.optional(
    v.union(
      [v.picklist(overflowWords), v.strictObject({ show: textSchema })],
      'dashes, blank, low-digits, or { show: "OL" }',
    ),
  ),
  font: v.optional(v.picklist(fontNames, `one of ${fontNames.join(', ')}`)),
  glyphs: v.optional(
    v.record(
      v.pipe(v.string(), v.length(1, 'one character as the key of each glyph')),
      v.string('the lit segments as letters, e.g. "abc"; "" is dark'),
    ),
  ),
  common: v.optional(v.picklist(['cathode', 'anode'], 'cathode or anode'), 'cathode'),
});

export type DisplayContents = v.InferOutput<typeof schema>;
/** As it is written in a plan. */
export type DisplayInput = v.InferInput<typeof schema>;

/** A text in place of the number: where every one of these fields has one of these values. */
export interface FixedText {
  readonly when: readonly { readonly field: string; readonly values: Choice }[];
  readonly show: string;
}

/** All that a display needs to know, read from its contents. */
export interface DisplayParts {
  readonly contents: DisplayContents;
  readonly fields: Fields;
  readonly glyphs: ReadonlyMap<string, number>;
  readonly places: number;
  /** True, false, or the field whose 1 says that the value is signed. */
  readonly signed: boolean | string;
  readonly scale: Chosen<Fraction | null>;
  readonly offset: Chosen<Fraction>;
  readonly decimals: Chosen<number>;
  readonly unit: Chosen<string>;
  /** The first that matches shows. */
  readonly texts: readonly FixedText[];
}

/** Fields that have a part of their own in the display, by that part. */
const rolesOf = ({ value, place, signed, decimals }: DisplayContents) => ({
  value,
  place,
  signed: typeof signed === 'string' ? signed : undefined,
  decimals: typeof decimals === 'string' ? decimals : undefined,
});

function complainOfUnknownFields(contents: DisplayContents, fields: Fields, { error }: Complaints): void {
  for (const [role, name] of Object.entries(rolesOf(contents))) {
    if (name === undefined || fields.has(name)) continue;
    const why = `Declare it under "fields", or name one of: ${[...fields.keys()].join(', ') || 'none declared'}.`;
    error('field.unknown', `There is no field "${name}".`, why, [role]);
  }
}

/** What only shows once the fields are known. */
function complainOfRoles(contents: DisplayContents, fields: Fields, { error }: Complaints): void {
  const bits = (name: string | undefined): number => (name === undefined ? 0 : fields.get(name)!.bits);
  const wrong = (message: string, why: string, role: string): void => error('field.width', message, why, [role]);
  const { places, place, signed, value } = contents;
  if (typeof signed === 'string' && bits(signed) !== 1) {
    const why = 'Signed or not is one bit: 1 means signed.';
    wrong(`The field "${signed}" is ${bits(signed)} bits wide.`, why, 'signed');
  }
  if (fields.get(value)!.signed && signed !== undefined && signed !== true) {
    const why = 'Strike "signed" here, or in the declaration of the field.';
    error('field.signed', `The field "${value}" is declared as signed.`, why, ['signed']);
  }
  if (places !== undefined && places > 2 ** bits(place)) {
    wrong(
      `${places} places are more than ${place ? `the field "${place}" can count` : 'one, and no field chooses the place'}.`,
      place ? `Its ${bits(place)} bits count ${2 ** bits(place)} places.` : 'Name the scan field under "place".',
      'places',
    );
  }
  if (places === undefined && bits(place) > 4)
    wrong(`The field "${place}" counts more than 16 places.`, 'Say how many there are under "places".', 'place');
  const names = Object.values(rolesOf(contents)).filter((name) => name !== undefined);
  if (new Set(names).size < names.length) {
    const why = 'Value, place, signed and decimals are fields of their own.';
    wrong('One field has two parts to play in this display.', why, 'value');
  }
}

/** What shows is shown whole, so that the place has no say in it. */
function complainOfPlace(
  place: string | undefined,
  { texts, ...contents }: DisplayContents,
  { error }: Complaints,
): void {
  if (place === undefined) return;
  const message = `The field "${place}" chooses the digit, and cannot choose what the display shows.`;
  const why = 'What shows is told for the whole display.';
  for (const key of ['scale', 'offset', 'decimals', 'unit'] as const) {
    const written = contents[key];
    if (typeof written === 'object' && written.by === place) error('display.choice', message, why, [key, 'by']);
  }
  for (const [i, { when }] of texts.entries())
    if (place in when) error('display.choice', message, why, ['texts', i, 'when', place]);
}

/** A text cut off would be another text. */
function complainOfLength(contents: DisplayContents, places: number, { error }: Complaints): void {
  const { overflow, texts, unit } = contents;
  const shown = [
    ...texts.map(({ show }, i) => ({ show, path: ['texts', i, 'show'] })),
    ...(typeof overflow === 'object' ? [{ show: overflow.show, path: ['overflow', 'show'] }] : []),
  ];
  for (const { show, path } of shown) {
    if (show.length <= places) continue;
    const message = `The text "${show}" has ${show.length} letters, and the display has ${places} ${places === 1 ? 'place' : 'places'}.`;
    error('display.text', message, 'Write a shorter one.', path);
  }
  for (const [text, path] of alternatives<string>(unit)) {
    if (text.length < places) continue;
    const message = `The unit "${text}" leaves no place for the number.`;
    error('display.text', message, `The display has ${places} ${places === 1 ? 'place' : 'places'}.`, [
      'unit',
      ...path,
    ]);
  }
}

/** How many places there are: as many as the plan says, or as its field counts. */
function placesOf({ places, place }: DisplayContents, fields: Fields): number {
  if (places !== undefined || place === undefined) return places ?? 1;
  const { bits, values } = fields.get(place)!;
  return values === null ? 2 ** Math.min(4, bits) : Math.min(mostPlaces, Math.max(...values) + 1);
}

function readParts(contents: DisplayContents, fields: Fields, complaining: Complaints): DisplayParts | null {
  const glyphs = readGlyphs(contents, complaining);
  complainOfUnknownFields(contents, fields, complaining);
  if (complaining.findings.some((f) => f.code === 'field.unknown')) return null;
  complainOfRoles(contents, fields, complaining);
  complainOfPlace(contents.place, contents, complaining);
  const readScale = (one: string | number, path: readonly string[]): Fraction | null => {
    const fraction = readFraction(one);
    if (fraction !== null && (path[0] !== 'scale' || fraction.over !== 0n)) return fraction;
    const why = `Write ${saidFraction}${fraction === null ? '' : ', and not 0'}.`;
    complaining.error('display.fraction', `"${one}" is no ${path[0]}.`, why, path);
    return null;
  };
  const scale =
    contents.scale === undefined ? always(null) : readChosen('scale', contents.scale, readScale, fields, complaining);
  const offset = readChosen('offset', contents.offset ?? 0, readScale, fields, complaining);
  const unit = readChosen('unit', contents.unit ?? '', (text: string) => text.toUpperCase(), fields, complaining);
  const decimals =
    typeof contents.decimals === 'string'
      ? { by: contents.decimals, at: (value: number) => Math.min(value, mostPlaces) }
      : readChosen('decimals', contents.decimals, (count: number) => count, fields, complaining);
  const texts = contents.texts.map(({ when, show }, i): FixedText => {
    const named = Object.keys(when).filter((name) => fields.has(name));
    const matches = readWhen(when, named, fields, ['texts', i, 'when'], complaining);
    return { when: named.map((field, k) => ({ field, values: matches[k]! })), show: show.toUpperCase() };
  });
  if (complaining.findings.some((f) => f.code.startsWith('field.'))) return null;
  const places = placesOf(contents, fields);
  complainOfLength(contents, places, complaining);
  const signed = contents.signed ?? fields.get(contents.value)!.signed;
  if (scale === null || offset === null || unit === null || decimals === null) return null;
  if (complaining.findings.some((f) => f.code === 'display.choice' || f.code === 'display.text')) return null;
  return { contents, fields, glyphs, places, signed, scale, offset, unit, decimals, texts };
}

const always = <T>(one: T): Chosen<T> => ({ by: null, at: () => one });
export const decimalDisplay: ContentsKind<DisplayContents> = {
  kind: 'decimal-display',
  schema,
  // How digits look says nothing about which numbers fit.
  forgiving: { leaveOut: ['about', 'font', 'order', 'leading-zeros', 'common'], standIns: { glyphs: '' } },
  outputsOf: () => displayOutputs,
  compile(contents: DisplayContents, fields: Fields): Compiled {
    const complaining = complaints();
    const parts = readParts(contents, fields, complaining);
    return { table: parts && new DecimalTable(parts), findings: complaining.findings };
  },
};
