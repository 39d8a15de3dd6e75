// Quantities as people read them: times with a fitting unit, counts with the right plural, addresses in hexadecimal.
import { hex } from '../ground/byte-text.js';

export { addressText, countOf, listText } from '../ground/quantity.js';

/** Microseconds as 200 us, 5 ms, 1.64 s. */
export function timeText(us: number): string {
  if (us < 1000) return `${us} us`;
  if (us < 1_000_000) return `${Number((us / 1000).toPrecision(3))} ms`;
  return `${Number((us / 1_000_000).toPrecision(3))} s`;
}

/** An ISO 8601 time in UTC as 2026-11-28 01:34; a text that is none stays as it is. */
export const timeOfDay = (time: string): string => time.replace(/^(\d{4}-\d\d-\d\d)T(\d\d:\d\d).*/, '$1 $2');

/** A byte with its two digits. */
export const byteText = (byte: number): string => hex(byte, 2);

/** Capacity: 2 KiB, 512 KiB. */
export const sizeText = (cells: number): string => (cells % 1024 === 0 ? `${cells / 1024} KiB` : `${cells} bytes`);

/** A count with a comma before every third digit: 100,000. The number formats of Node take a sixth of the start-up to load. */
export const groupedText = (count: number): string => String(count).replace(/\B(?=(\d{3})+$)/g, ',');
