// Lists of pins as written in a plan (`A3`, `[A0, A4..A7]`, `/D2`), and the names of bits (`place`, `place.1`, `next.0..3`).

export interface PinName {
  readonly index: number;
  /** Written with a stroke in front: the pin carries the complement. */
  readonly activeLow: boolean;
}

/** The pins of a list in the order written; a part that cannot be read comes back as the text itself. */
export function readPins(written: string | readonly string[], letter: 'A' | 'D'): (PinName | { unreadable: string })[] {
  const parts = typeof written === 'string' ? written.split(/[\s,]+/).filter(Boolean) : written;
  return parts.flatMap((part) => readRange(part.trim(), letter));
}

function readRange(part: string, letter: 'A' | 'D'): (PinName | { unreadable: string })[] {
  const match = new RegExp(`^(/?)${letter}(\\d{1,2})(?:\\.\\.(/?)${letter}(\\d{1,2}))?$`, 'i').exec(part);
  if (!match) return [{ unreadable: part }];
  const [, stroke = '', first = '', strokeOfLast, last = first] = match;
  if (strokeOfLast !== undefined && strokeOfLast !== '' && stroke === '') return [{ unreadable: part }];
  return countedRange(Number(first), Number(last)).map((index) => ({ index, activeLow: stroke === '/' }));
}

/** Whole numbers from `first` to `last`, both included, upwards or downwards. */
export function countedRange(first: number, last: number): number[] {
  const step = first <= last ? 1 : -1;
  return Array.from({ length: Math.abs(last - first) + 1 }, (_, i) => first + i * step);
}

export interface BitNames {
  readonly name: string;
  /** Written with a stroke in front: the complement of the bits. */
  readonly inverted: boolean;
  /** Bit numbers in the order written; null where no width is known under that name. */
  readonly bits: readonly number[] | null;
}

/**
 * Which bits `reference` names: all bits of a name from 0 up, one (`place.1`), or some (`next.0..3`), as they are or, with a
 * stroke in front (`/place`), inverted. Names may contain dots themselves, so the whole is looked up first.
 */
export function readBits(reference: string, widthOf: ReadonlyMap<string, number>): BitNames {
  const inverted = reference.startsWith('/');
  const plain = inverted ? reference.slice(1) : reference;
  const whole = widthOf.get(plain);
  if (whole !== undefined) return { name: plain, inverted, bits: countedRange(0, whole - 1) };
  const match = /^(.+?)\.(\d{1,2})(?:\.\.(\d{1,2}))?$/.exec(plain);
  if (!match) return { name: plain, inverted, bits: null };
  const [, name = '', first = '', last = first] = match;
  return { name, inverted, bits: widthOf.has(name) ? countedRange(Number(first), Number(last)) : null };
}

/** A list of pins as short as it can be said: `A0..A4, A7`. */
export function writePins(pins: readonly string[]): string {
  const parts: string[] = [];
  for (let i = 0; i < pins.length; ) {
    let end = i;
    while (end + 1 < pins.length && follows(pins[end]!, pins[end + 1]!)) end++;
    if (end - i >= 2) parts.push(`${pins[i]}..${pins[end]!.replace('/', '')}`);
    else parts.push(...pins.slice(i, end + 1));
    i = end + 1;
  }
  return parts.join(', ');
}

const follows = (pin: string, next: string): boolean => {
  const [, head = '', number = ''] = /^(\D+)(\d+)$/.exec(pin) ?? [];
  return next === `${head}${Number(number) + 1}`;
};
