// A plan's ROM as a circuit to look at: its fields to set, its display or its lines to see.
import type { LineName } from '../chip/wiring-fault.js';
import type { Image } from '../image/image.js';
import { addressOfValues } from '../plan/addressing.js';
import { displayOf, placesOf } from '../plan/display-reading.js';
import type { Plan } from '../plan/plan.js';
import type { OutputBit, Rom } from '../plan/rom.js';
import type { DisplayFacts, Field, OutputValues } from '../plan/table.js';
import { everyValue, numberOfBits } from '../plan/value-range.js';
import type { Circuit, Question, SettableField, Shows, View } from './circuit.js';

/** Most settings that are asked about; of a larger circuit an even spread. */
const questionsMax = 4096;

type Values = ReadonlyMap<string, number>;

/** Fields that reach a pin of the ROM. */
const reaching = (plan: Plan, rom: Rom): Field[] => {
  const names = new Set(rom.address.flatMap((pin) => (pin.kind === 'field' ? [pin.field] : [])));
  return [...plan.fields.values()].filter((field) => names.has(field.name) && !rom.fixed.has(field.name));
};

/** All settings of some fields that the circuit can have, the first field counting fastest. */
class Settings {
  readonly count: number;
  readonly #fields: readonly { readonly name: string; readonly values: readonly number[] }[];

  constructor(fields: readonly Field[]) {
    this.#fields = fields.map((field) => ({ name: field.name, values: everyValue(field) }));
    this.count = this.#fields.reduce((product, { values }) => product * values.length, 1);
  }

  at(n: number): Map<string, number> {
    let rest = n;
    const setting = new Map<string, number>();
    for (const { name, values } of this.#fields) {
      setting.set(name, values[rest % values.length]!);
      rest = Math.floor(rest / values.length);
    }
    return setting;
  }
}

const saidValue = (field: SettableField, value: number): string =>
  `${field.name}=${field.names.get(value) ?? numberOfBits(field, value)}`;

/** What each byte lights, once for every choice of sources that the pins' banks make. */
class LitTables {
  readonly #known = new Map<string, Uint32Array>();
  constructor(
    private readonly rom: Rom,
    private readonly bitOf: (source: OutputBit, pin: number) => number,
  ) {}

  at(expected: OutputValues): Uint32Array {
    const outputs = [...this.rom.table.outputs.keys()];
    const sources = this.rom.data.map(
      (pin) => pin.find(({ output }) => expected[outputs.indexOf(output)] !== undefined) ?? pin[0],
    );
    const key = sources.map((s) => (s === undefined ? '' : `${s.output}.${s.bit}`)).join();
    const known = this.#known.get(key);
    if (known !== undefined) return known;
    const table = Uint32Array.from({ length: 256 }, (_, byte) =>
      sources.reduce((lit, source, pin) => {
        const bit = source === undefined ? -1 : this.bitOf(source, pin);
        const on = ((byte >> pin) & 1) ^ (source?.activeLow ? 1 : 0);
        return bit < 0 ? lit : lit | (on << bit);
      }, 0),
    );
    this.#known.set(key, table);
    return table;
  }
}

const carriedBy = (plan: Plan, rom: Rom): Map<LineName, string> => {
  const carries = new Map<LineName, string>();
  const named = (name: string, bit: number, width: number | undefined): string =>
    width === 1 ? name : `${name} bit ${bit}`;
  for (const [line, pin] of rom.address.entries())
    if (pin.kind === 'field') carries.set(`A${line}`, named(pin.field, pin.bit, plan.fields.get(pin.field)?.bits));
  for (const [line, sources] of rom.data.entries())
    if (sources[0] !== undefined)
      carries.set(`D${line}`, sources.map((s) => named(s.output, s.bit, rom.table.outputs.get(s.output))).join(' or '));
  return carries;
};

interface Scene {
  readonly shows: Shows;
  readonly lit: LitTables;
  /** Settings of the scanned fields in the order in which they are seen. */
  readonly scan: readonly Values[];
}

const displayScene = (rom: Rom, display: DisplayFacts, otherScanned: readonly Field[]): Scene => {
  const places =
    display.place === null
      ? [new Map<string, number>()]
      : placesOf(rom, display).map((p) => new Map([[display.place!, p]]));
  // A further scanned field would show several pictures at once; the first of them stands for all.
  const rest = new Settings(otherScanned).at(0);
  return {
    shows: {
      kind: 'digits',
      count: places.length,
      hasPoint: rom.data.flat().some(({ output }) => output === display.segments[7]),
      segmentsOf: (letter) => display.segmentsOf(letter),
    },
    lit: new LitTables(rom, ({ output }) => display.segments.indexOf(output)),
    scan: places.map((place) => new Map([...rest, ...place])),
  };
};

/** What a line is called; a bit that leaves on several pins is told apart by them: `lamp`, `lamp@D1`. */
const lineName = (rom: Rom, { output, bit }: OutputBit, pin: number): string => {
  const name = rom.table.outputs.get(output) === 1 ? output : `${output}.${bit}`;
  const first = rom.data.findIndex((sources) => sources.some((s) => s.output === output && s.bit === bit));
  return pin === first ? name : `${name}@D${pin}`;
};

const lineScene = (rom: Rom, scanned: readonly Field[]): Scene => {
  const names = [...new Set(rom.data.flatMap((sources, pin) => sources.map((s) => lineName(rom, s, pin))))];
  const settings = new Settings(scanned);
  return {
    shows: { kind: 'lines', names },
    lit: new LitTables(rom, (source, pin) => names.indexOf(lineName(rom, source, pin))),
    scan: Array.from({ length: settings.count }, (_, n) => settings.at(n)),
  };
};

/** The circuit around one ROM of a plan; `image` is what the chip should hold (from buildPlan). */
export const circuitOfPlan = (plan: Plan, rom: Rom, image: Image): Circuit => {
  const fields = reaching(plan, rom);
  const display = displayOf(rom, new Map(rom.fixed));
  const isScanned = (f: Field): boolean => f.scanned || f.name === display?.place;
  const settable = fields.filter((f) => !isScanned(f));
  const scanned = fields.filter(isScanned);
  const scene =
    display === null
      ? lineScene(rom, scanned)
      : displayScene(
          rom,
          display,
          scanned.filter((f) => f.name !== display.place),
        );
  const inputs = [...rom.table.inputs.keys()];
  const viewAt = (values: Values): View => ({
    address: addressOfValues(rom, values),
    lit: scene.lit.at(rom.table.at(inputs.map((name) => values.get(name) ?? 0))),
  });
  const settings = new Settings(settable);
  const total = settings.count;
  const asked = Math.min(total, questionsMax);
  const questions = Array.from({ length: asked }, (_, index): Question => {
    const values = settings.at(Math.floor((index * total) / asked));
    const words = settable.map((f) => saidValue(f, values.get(f.name)!)).join(' ');
    return { index, values, words, views: scene.scan.map((s) => viewAt(new Map([...rom.fixed, ...values, ...s]))) };
  });
  return {
    name: rom.name,
    image,
    addressLines: rom.address.length,
    fields: settable,
    shows: scene.shows,
    questions,
    carries: carriedBy(plan, rom),
  };
};
