// A ROM's pin lists, read against its table: what every pin carries, and everything wrong with the lists.
import type { Part } from '../chip/part.js';
import { nearNames } from '../ground/near-names.js';
import { type PinName, readBits, readPins } from './pin-list.js';
import type { AddressPin, DataPin, OutputBit } from './rom.js';
import type { Fields, Finding, Path, Table } from './table.js';

type PinLists = Readonly<Record<string, string | readonly string[]>>;
type Report = (
  code: string,
  message: string,
  why: string,
  path: Path,
  severity?: Finding['severity'],
  onKey?: boolean,
) => void;

/** Words in an address list that name no field. */
const tiedWords = new Map<string, AddressPin>([
  ['low', { kind: 'tied', level: 0 }],
  ['high', { kind: 'tied', level: 1 }],
  ['unused', { kind: 'unused' }],
]);

const listed = (names: Iterable<string>): string => [...names].join(', ') || 'none';

/** The pins of one list with the path of each; what is no pin of this chip is reported. */
function pinsOf(
  list: string | readonly string[],
  letter: 'A' | 'D',
  count: number,
  path: Path,
  report: Report,
): { pin: PinName; path: Path }[] {
  const items =
    typeof list === 'string' ? [{ text: list, path }] : list.map((text, i) => ({ text, path: [...path, i] }));
  return items.flatMap(({ text, path: at }) =>
    readPins(text, letter).flatMap((pin) => {
      const range = `${letter}0 to ${letter}${count - 1}`;
      if ('unreadable' in pin) {
        report(
          'pin.unreadable',
          `"${pin.unreadable}" is not a pin.`,
          `Write pins as ${letter}3, ranges as ${letter}0..${letter}4; this chip has ${range}.`,
          at,
        );
        return [];
      }
      if (pin.index >= count) {
        report('pin.unknown', `This chip has no pin ${letter}${pin.index}.`, `It has ${range}.`, at);
        return [];
      }
      return [{ pin, path: at }];
    }),
  );
}

/** A reference to bits of a field or output with its pins, matched one to one from bit 0 up; mismatches are reported. */
function matchBits(
  reference: string,
  pins: number,
  widths: ReadonlyMap<string, number>,
  what: 'field' | 'output',
  path: Path,
  report: Report,
) {
  const { name, bits } = readBits(reference, widths);
  if (bits === null) {
    const near = nearNames(reference, [...widths.keys()])[0];
    report(
      `${what}.unknown`,
      `There is no ${what} "${reference}".`,
      near ? `Did you mean "${near}"?` : `Known are: ${listed(widths.keys())}.`,
      path,
      'error',
      true,
    );
    return null;
  }
  const width = widths.get(name)!;
  const outside = bits.find((b) => b >= width);
  if (outside !== undefined) {
    report(
      `${what}.width`,
      `The ${what} "${name}" has no bit ${outside}.`,
      `It is ${width} bits wide: bits 0 to ${width - 1}.`,
      path,
      'error',
      true,
    );
    return null;
  }
  if (bits.length !== pins) {
    report(
      `${what}.width`,
      `"${reference}" is ${bits.length} bits wide and has ${pins} pins.`,
      'Give one pin for every bit, bit 0 first.',
      path,
      'error',
      true,
    );
    return null;
  }
  return { name, bits };
}

export function readAddressPins(lists: PinLists, chip: Part, fields: Fields, report: Report): readonly AddressPin[] {
  const pins = new Array<AddressPin | undefined>(chip.addressLines);
  const widths = new Map([...fields].map(([name, f]) => [name, f.bits]));
  const users = new Map<string, string>();
  let readable = true;
  for (const [reference, list] of Object.entries(lists)) {
    const path = ['address', reference];
    const named = pinsOf(list, 'A', chip.addressLines, path, (...args) => {
      readable = false;
      report(...args);
    });
    const take = (index: number, carries: AddressPin, at: Path): void => {
      const before = users.get(`A${index}`);
      if (before !== undefined)
        report(
          'pin.twice',
          `The pin A${index} is used twice: by "${before}" and by "${reference}".`,
          'A pin carries one bit; a bit that has two pins leaves another without.',
          at,
        );
      users.set(`A${index}`, reference);
      pins[index] = carries;
    };
    for (const { pin, path: at } of named) {
      if (pin.activeLow)
        report(
          'pin.polarity',
          `The address pin A${pin.index} has a stroke.`,
          'Only data pins are active low; for an inverted field, swap the meaning of its values.',
          at,
        );
    }
    const tied = tiedWords.get(reference);
    if (tied) {
      for (const { pin, path: at } of named) take(pin.index, tied, at);
      continue;
    }
    // With a pin unreadable the count says nothing new, but the pins that are there are still looked at.
    const counted = readable ? named.length : (readBits(reference, widths).bits?.length ?? named.length);
    const matched = matchBits(reference, counted, widths, 'field', path, report);
    for (const [i, { pin, path: at }] of named.entries()) {
      take(
        pin.index,
        matched ? { kind: 'field', field: matched.name, bit: matched.bits[i] ?? 0 } : { kind: 'unused' },
        at,
      );
    }
  }
  reportBitsTwice(pins, report);
  const missing = [...pins.keys()].filter((i) => pins[i] === undefined);
  if (missing.length > 0 && readable) {
    report(
      'pin.missing',
      `No field reaches the ${missing.length === 1 ? 'pin' : 'pins'} ${missing.map((i) => `A${i}`).join(', ')}.`,
      'Every address pin is named once: with a field, or under low, high or unused.',
      ['address'],
      'error',
      true,
    );
  }
  return [...pins].map((p) => p ?? { kind: 'unused' });
}

function reportBitsTwice(pins: readonly (AddressPin | undefined)[], report: Report): void {
  const seen = new Map<string, number>();
  for (const [index, carries] of pins.entries()) {
    if (carries?.kind !== 'field') continue;
    const bit = `${carries.field}.${carries.bit}`;
    const before = seen.get(bit);
    if (before !== undefined)
      report(
        'field.bit-twice',
        `The bit ${bit} reaches two pins, A${before} and A${index}.`,
        'One pin is enough; with two, a quarter of the settings can never be met.',
        ['address'],
        'error',
        true,
      );
    seen.set(bit, index);
  }
}

export function readDataPins(lists: PinLists, table: Table, report: Report): readonly DataPin[] {
  const pins = Array.from({ length: 8 }, () => [] as OutputBit[]);
  const unused = new Map<number, Path>();
  for (const [reference, list] of Object.entries(lists)) {
    const path = ['data', reference];
    let readable = true;
    const named = pinsOf(list, 'D', 8, path, (...args) => {
      readable = false;
      report(...args);
    });
    if (reference === 'unused') {
      for (const { pin, path: at } of named) {
        if (pins[pin.index]!.length > 0 || unused.has(pin.index))
          twice(pin.index, 'unused', pins[pin.index]![0]?.output ?? 'unused', at, report);
        unused.set(pin.index, at);
      }
      continue;
    }
    const counted = readable ? named.length : (readBits(reference, table.outputs).bits?.length ?? named.length);
    const matched = matchBits(reference, counted, table.outputs, 'output', path, report);
    for (const [i, { pin, path: at }] of named.entries()) {
      const carries = pins[pin.index]!;
      const output = matched?.name ?? reference;
      const other = unused.has(pin.index)
        ? 'unused'
        : carries.find((c) => !(table.neverTogether?.(c.output, output) ?? false))?.output;
      if (other !== undefined) twice(pin.index, reference, other, at, report);
      const low = matched !== null && table.activeLow.has(output);
      if (low && pin.activeLow)
        report(
          'pin.polarity',
          `"${output}" is active low already by its contents, and D${pin.index} has a stroke.`,
          'Say it in one place: strike the stroke or the word in the contents.',
          at,
        );
      if (matched) carries.push({ output, bit: matched.bits[i] ?? 0, activeLow: low || pin.activeLow });
      else unused.set(pin.index, at);
    }
  }
  const missing = [...pins.keys()].filter((i) => pins[i]!.length === 0 && !unused.has(i));
  if (missing.length > 0) {
    report(
      'pin.idle',
      `The data ${missing.length === 1 ? 'pin' : 'pins'} ${missing.map((i) => `D${i}`).join(', ')} ${missing.length === 1 ? 'carries' : 'carry'} nothing.`,
      'Name them under unused if that is meant.',
      ['data'],
      'warning',
      true,
    );
  }
  return pins;
}

function twice(index: number, one: string, other: string, path: Path, report: Report): void {
  report(
    'pin.twice',
    `The pin D${index} is used twice: by "${other}" and by "${one}".`,
    'A data pin carries one bit.',
    path,
  );
}
