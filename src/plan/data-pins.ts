// The data pins of a ROM read from its plan: what each of them carries, and with which polarity.
import type { Complaints } from './complaints.js';
import type { DataPin, OutputBit } from './rom.js';
import type { Path } from './table.js';
import { type PinLists, readInversion, readWiredBits, readWiredPins, type Side, sayPins } from './wired-bits.js';

const pinCount = 8;
const side: Side = { key: 'data', letter: 'D', pins: pinCount };

/** What the contents say about the pins' outputs. */
export interface WiredOutputs {
  /** Name -> width; null where the contents leave it open which outputs there are. */
  readonly outputs: ReadonlyMap<string, number> | null;
  readonly activeLow: ReadonlySet<string>;
  neverTogether?(one: string, other: string): boolean;
}

/** Eight, D0 first. With banks one pin may carry outputs of several; otherwise it carries one. */
export function readDataPins(lists: PinLists, table: WiredOutputs, complaints: Complaints): readonly DataPin[] {
  const pins = Array.from({ length: pinCount }, (): OutputBit[] => []);
  /** Pins that are spoken for without carrying anything. */
  const unused = new Set<number>();
  const complainOfUse = (index: number, by: string, path: Path): void => {
    const other = unused.has(index)
      ? 'unused'
      : pins[index]!.find((c) => by === 'unused' || !table.neverTogether?.(c.output, by))?.output;
    if (other === undefined) return;
    const message = `The pin D${index} is used twice: by "${other}" and by "${by}".`;
    complaints.error('pin.twice', message, 'A data pin carries one bit.', path);
  };
  for (const reference of Object.keys(lists)) {
    if (reference === 'unused') {
      for (const { pin, path } of readWiredPins(lists, reference, side, complaints).pins) {
        complainOfUse(pin.index, reference, path);
        unused.add(pin.index);
      }
      continue;
    }
    const wired = table.outputs
      ? readWiredBits(lists, reference, side, table.outputs, complaints)
      : { ...readWiredPins(lists, reference, side, complaints), bits: null };
    for (const [i, wiredPin] of wired.pins.entries()) {
      const { pin, path } = wiredPin;
      const inverted = readInversion(reference, wiredPin, side, complaints);
      const output = wired.bits?.name ?? reference;
      const bit = wired.bits?.bits[i] ?? 0;
      complainOfUse(pin.index, output, path);
      const low = table.activeLow.has(output);
      if (low && pin.activeLow) {
        const message = `"${output}" is active low already by its contents, and D${pin.index} has a stroke.`;
        complaints.error(
          'pin.polarity',
          message,
          'Say it in one place: strike the stroke or the word in the contents.',
          path,
        );
      }
      // An output that nobody knows takes its pin all the same.
      pins[pin.index]!.push({ output, bit, activeLow: low !== inverted });
    }
  }
  const missing = [...pins.keys()].filter((i) => pins[i]!.length === 0 && !unused.has(i));
  if (missing.length > 0) {
    const message = `The data ${sayPins('D', missing)} ${missing.length === 1 ? 'carries' : 'carry'} nothing.`;
    complaints.warningAtKey('pin.idle', message, 'Name them under unused if that is meant.', ['data']);
  }
  return pins;
}
