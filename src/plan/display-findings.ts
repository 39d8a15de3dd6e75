// What `check` says of a display's contents, once its numbers are worked out.
import { countOf } from '../ground/quantity.js';
import type { Finding, Path } from './table.js';

const placesSaid = (places: number): string => `${places} ${places === 1 ? 'place' : 'places'}`;

export const decimalsFinding = (decimals: number, places: number): Finding => ({
  severity: 'error',
  code: 'display.decimals',
  message: `A number with ${countOf(decimals, 'digit')} behind the point needs ${placesSaid(decimals + 1)}, and there ${places === 1 ? 'is' : 'are'} ${placesSaid(places)} for it.`,
  why: 'One digit always stands before the point: take fewer decimals, or wire more places.',
  path: ['decimals'],
});

export const overflowFinding = (number: string, places: number): Finding => ({
  severity: 'error',
  code: 'display.overflow',
  message: `The value ${number} does not fit in ${placesSaid(places)}, and the plan does not say what shows then.`,
  why: 'Add "overflow: dashes", blank, low-digits or { show: "OL" }, or wire more places.',
  path: [],
});

export const silentText = (show: string, i: number): Finding => ({
  severity: 'warning',
  code: 'display.silent-text',
  message: `The text "${show}" never shows.`,
  why: 'Texts before it match wherever it does: the first that matches shows.',
  path: ['texts', i],
});

/** `-12.5`: a number counted in its last digit, written with its point. */
export function withPoint(value: number | bigint, decimals: number, radix: number): string {
  const digits = (value < 0 ? -value : value)
    .toString(radix)
    .toUpperCase()
    .padStart(decimals + 1, '0');
  const at = digits.length - decimals;
  return `${value < 0 ? '-' : ''}${digits.slice(0, at)}${decimals > 0 ? `.${digits.slice(at)}` : ''}`;
}

export const sameGlyph = (letter: string, other: string, path: Path): Finding => ({
  severity: 'warning',
  code: 'display.same-glyph',
  message: `"${letter}" looks the same as ${other} in this font.`,
  why: 'A reader could not tell them apart; choose another font, or give one a glyph of its own.',
  path,
});
