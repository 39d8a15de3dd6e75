// The address pins of a ROM read from its plan: what reaches each of them.
import type { Complaints } from './complaints.js';
import type { AddressPin } from './rom.js';
import type { Fields, Path } from './table.js';
import {
  type PinLists,
  readInversion,
  readWiredBits,
  readWiredPins,
  type Side,
  sayPins,
  type WiredPin,
} from './wired-bits.js';

/** Words in an address list that name no field. */
export const tiedWords: ReadonlyMap<string, AddressPin> = new Map<string, AddressPin>([
  ['low', { kind: 'tied', level: 0 }],
  ['high', { kind: 'tied', level: 1 }],
  ['unused', { kind: 'unused' }],
]);

/**
 * One a line of the chip, A0 first; a pin about which nothing good is known counts as unused. `lines` is null where the chip
 * is not known: then it is not known either which pins are missing.
 */
export function readAddressPins(
  lists: PinLists,
  lines: number | null,
  fields: Fields,
  complaints: Complaints,
): readonly AddressPin[] {
  const side: Side = { key: 'address', letter: 'A', pins: lines };
  const widths = new Map([...fields].map(([name, f]) => [name, f.bits]));
  const pins: ({ carries: AddressPin; by: string } | undefined)[] = Array.from({ length: lines ?? 0 });
  const take = (index: number, carries: AddressPin, by: string, path: Path): void => {
    const before = pins[index];
    if (before) {
      const message = `The pin A${index} is used twice: by "${before.by}" and by "${by}".`;
      complaints.error(
        'pin.twice',
        message,
        'A pin carries one bit; a bit that has two pins leaves another without.',
        path,
      );
    }
    pins[index] = { carries, by };
  };
  let allReadable = true;
  for (const reference of Object.keys(lists)) {
    const tied = tiedWords.get(reference);
    const wired = tied
      ? { ...readWiredPins(lists, reference, side, complaints), bits: null }
      : readWiredBits(lists, reference, side, widths, complaints);
    allReadable &&= wired.readable;
    if (tied) complainOfStrokes(wired.pins, complaints);
    for (const [i, wiredPin] of wired.pins.entries()) {
      const bit = wired.bits?.bits[i];
      const inverted = !tied && readInversion(reference, wiredPin, side, complaints);
      const field: AddressPin =
        bit === undefined ? { kind: 'unused' } : { kind: 'field', field: wired.bits!.name, bit, inverted };
      take(wiredPin.pin.index, tied ?? field, reference, wiredPin.path);
    }
  }
  const carried = Array.from(pins, (p) => p?.carries);
  complainOfBitsTwice(carried, complaints);
  const missing = [...pins.keys()].filter((i) => pins[i] === undefined);
  if (missing.length > 0 && allReadable && lines !== null) {
    const why = 'Every address pin is named once: with a field, or under low, high or unused.';
    complaints.errorAtKey('pin.missing', `No field reaches the ${sayPins('A', missing)}.`, why, ['address']);
  }
  return carried.map((c) => c ?? { kind: 'unused' });
}

function complainOfStrokes(pins: readonly WiredPin[], { error }: Complaints): void {
  for (const { pin, path } of pins) {
    if (!pin.activeLow) continue;
    const why = 'A stroke inverts a bit of a field; a pin that is tied high stands under high.';
    error('pin.polarity', `The pin A${pin.index} has a stroke and carries no field.`, why, path);
  }
}

function complainOfBitsTwice(pins: readonly (AddressPin | undefined)[], { errorAtKey }: Complaints): void {
  const seen = new Map<string, number>();
  for (const [index, carries] of pins.entries()) {
    if (carries?.kind !== 'field') continue;
    const bit = `${carries.field}.${carries.bit}`;
    const before = seen.get(bit);
    if (before !== undefined) {
      const why = 'One pin is enough; cells where the two differ would never be read.';
      errorAtKey('field.bit-twice', `The bit ${bit} reaches two pins, A${before} and A${index}.`, why, ['address']);
    }
    seen.set(bit, index);
  }
}
