// The kinds of field that lines carry: how each is spelled, and what it accepts.
import { base64OfBytes, bytesOfBase64, hex } from '../ground/byte-text.js';
import type { WriterLimits } from './limits.js';
import type { HeldData } from './message.js';

/** Both directions of one kind of field. `read` gives undefined where the text is malformed or out of range. */
export interface FieldKind<Value> {
  read(text: string, limits: FieldLimits): Value | undefined;
  write(value: Value): string;
}

/** The announced limits that a field's range depends on. */
export type FieldLimits = Pick<WriterLimits, 'echo'>;

const digits = /^[0-9A-F]{1,8}$/;

/** A number as lines spell it: 1 to 8 upper-case digits, leading zeros accepted; undefined for anything else. */
export const numberOfField = (text: string): number | undefined =>
  digits.test(text) ? Number.parseInt(text, 16) : undefined;

/** A number without leading zeros. */
export const fieldOfNumber = (value: number): string => hex(value, 1);

/** A number in [least, most] that also passes `fits`. */
export const number = (
  least: number,
  most: number,
  fits: (value: number) => boolean = () => true,
): FieldKind<number> => ({
  read: (text) => {
    const value = numberOfField(text);
    return value !== undefined && value >= least && value <= most && fits(value) ? value : undefined;
  },
  write: fieldOfNumber,
});

/** Words of ours that the line spells as their place in this list. */
export const choice = <Word extends string>(words: readonly Word[]): FieldKind<Word> => ({
  read: (text) => {
    const place = numberOfField(text);
    return place === undefined ? undefined : words[place];
  },
  write: (word) => fieldOfNumber(words.indexOf(word)),
});

/** A number spelled with all its digits: check sums (8) and single bytes (2). */
export const fixed = (width: 2 | 8): FieldKind<number> => ({
  read: (text) => (text.length === width ? numberOfField(text) : undefined),
  write: (value) => hex(value, width),
});

/** Bytes in base64; at least one, since a field is never empty. */
export const bytes = (most: (limits: FieldLimits) => number): FieldKind<Uint8Array> => ({
  read: (text, limits) => {
    const value = bytesOfBase64(text);
    return value !== null && value.length > 0 && value.length <= most(limits) ? value : undefined;
  },
  write: base64OfBytes,
});

/** The data lines of `hold`: two digits that are driven, `-` released, `+` released with pull-ups. */
export const held: FieldKind<HeldData> = {
  read: (text) => (text === '-' ? 'released' : text === '+' ? 'pulled' : fixed(2).read(text, { echo: 0 })),
  write: (value) => (value === 'released' ? '-' : value === 'pulled' ? '+' : hex(value, 2)),
};
