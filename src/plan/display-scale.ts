// From the bits of a field to the number on a display, in whole numbers alone: scale, offset, and the rounding to the last digit.

/** A fraction as it was written: `9/5`, `0.5`, `32`. The denominator is above 0. */
export interface Fraction {
  readonly over: bigint;
  readonly under: bigint;
}

/** Digits that a fraction may be written with: more than any instrument has, and quickly worked with. */
const mostLetters = 30;

/** `9/5`, `-0.5` or `1.8/2`, or a number as YAML reads it; null where it is none. */
export function readFraction(written: string | number): Fraction | null {
  const text = String(written).trim();
  const match = /^(-?)(\d+)(?:\.(\d+))?(?:\s*\/\s*(\d+)(?:\.(\d+))?)?$/.exec(text);
  if (!match || text.length > mostLetters) return null;
  const [, sign, first = '', behind = '', second = '1', behindSecond = ''] = match;
  // One power of ten each turns both into whole numbers.
  const over = BigInt(first + behind) * 10n ** BigInt(behindSecond.length);
  const under = BigInt(second + behindSecond) * 10n ** BigInt(behind.length);
  return under === 0n ? null : { over: sign ? -over : over, under };
}

const magnitude = (n: bigint): bigint => (n < 0n ? -n : n);
/** Rounded towards minus infinity; `under` is above 0. */
const floor = (over: bigint, under: bigint): bigint => (over - (((over % under) + under) % under)) / under;
const nearest = (over: bigint, under: bigint, tie: (below: bigint) => bigint): bigint => {
  const below = floor(over, under);
  const rest = 2n * (over - below * under) - under;
  return rest === 0n ? tie(below) : rest < 0n ? below : below + 1n;
};

/** Ways to round to a whole number, by their names in a plan. */
export const roundings = {
  'half-away': (over: bigint, under: bigint) => nearest(over, under, (below) => (over < 0n ? below : below + 1n)),
  'half-even': (over: bigint, under: bigint) => nearest(over, under, (below) => below + (magnitude(below) % 2n)),
  'to-zero': (over: bigint, under: bigint) => over / under,
  down: floor,
  up: (over: bigint, under: bigint) => -floor(-over, under),
} as const;

export type Rounding = keyof typeof roundings;

export interface Scaling {
  /** Null: the last digit shown counts the value. */
  readonly scale: Fraction | null;
  readonly offset: Fraction;
  readonly decimals: number;
}

/** value x scale + offset, as the whole number of last digits that the display shows. */
export function digitsOf(value: number, { scale, offset, decimals }: Scaling, radix: number, round: Rounding): bigint {
  const last = BigInt(radix) ** BigInt(decimals);
  const per = scale ?? { over: 1n, under: last };
  const over = (BigInt(value) * per.over * offset.under + offset.over * per.under) * last;
  return roundings[round](over, per.under * offset.under);
}
