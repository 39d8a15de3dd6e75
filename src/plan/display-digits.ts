// A number as the letters of a display, place by place: blanking, minus, decimal point, overflow.

export interface DigitRules {
  readonly places: number;
  readonly radix: 10 | 16;
  readonly leadingZeros: 'blank' | 'show';
  /** Floating: directly left of the first digit. Fixed: in the leftmost place, which then carries no digit. */
  readonly minus: 'floating' | 'fixed';
  /** `low-digits` shows what fits; any other text is shown as it stands, right-aligned; null where nothing was said. */
  readonly overflow: 'low-digits' | { readonly show: string } | null;
}

export interface Shown {
  /** One letter a place, leftmost first. */
  readonly letters: string;
  /** The place, counted from the left, whose point is lit; null for none. */
  readonly pointAt: number | null;
  /** The number did not fit. */
  readonly overflowed: boolean;
}

/**
 * What a display shows for `value`, counted in its last digit, with `decimals` digits behind the point and `unit` behind the
 * number. `signed` says that the value could be negative: a fixed minus then keeps its place free.
 */
export function showNumber(
  value: number | bigint,
  signed: boolean,
  decimals: number,
  rules: DigitRules,
  unit = '',
): Shown {
  const { radix, leadingZeros, minus } = rules;
  const places = rules.places - unit.length;
  const negative = value < 0;
  const keepsPlace = minus === 'fixed' ? signed : negative;
  const room = places - (keepsPlace ? 1 : 0);
  const digits = (negative ? -value : value).toString(radix).toUpperCase();
  const shortest = leadingZeros === 'show' ? room : decimals + 1;
  const padded = digits.padStart(shortest, '0');
  const pointAt = decimals > 0 ? places - 1 - decimals : null;
  const sign = negative ? '-' : '';

  if (padded.length > room) return { ...showOverflow(sign, padded, room, pointAt, rules, unit), overflowed: true };
  const letters =
    minus === 'fixed' && keepsPlace
      ? (sign || ' ') + padded.padStart(room, ' ')
      : (sign + padded).padStart(places, ' ');
  return { letters: letters + unit, pointAt, overflowed: false };
}

function showOverflow(
  sign: string,
  digits: string,
  room: number,
  pointAt: number | null,
  { overflow, places }: DigitRules,
  unit: string,
): Pick<Shown, 'letters' | 'pointAt'> {
  if (overflow === 'low-digits') {
    const letters = (sign + (room > 0 ? digits.slice(-room) : '')).padStart(places - unit.length, ' ');
    return { letters: letters + unit, pointAt: pointAt !== null && pointAt >= 0 ? pointAt : null };
  }
  return showText(overflow?.show ?? '', places);
}

/** A text stands at the right, over the whole display. */
export const showText = (text: string, places: number): Pick<Shown, 'letters' | 'pointAt'> => ({
  letters: text.slice(-places).padStart(places, ' '),
  pointAt: null,
});

/** The number that `bits` bits of two's complement mean. */
export const asSigned = (value: number, bits: number): number => (value >= 2 ** (bits - 1) ? value - 2 ** bits : value);
