// For comparison: what a plain program written by hand takes, computed, not measured.
import { type Row, type Section, timeRow } from './row.js';

/** "7FFF A5" and LF there, "ok" and LF back: 11 characters of 10 bits, nothing overlapped. */
const charactersOfByte = 8 + 3;
/** The longest write cycle of the slow parts, waited out after every byte. */
const waitMs = 10;

export function byHandSection(): Section {
  const rows: Row[] = [];
  for (const [chip, cells, limitMs] of [
    ['28C256', 32_768, 512 * 10],
    ['28C16', 2048, 2048],
  ] as const)
    for (const baud of [9600, 115_200])
      rows.push(
        timeRow(
          `${chip}, one byte a line, fixed wait of 10 ms, ${baud} baud`,
          limitMs,
          cells * ((charactersOfByte * 10_000) / baud + waitMs),
        ),
      );
  return {
    heading: 'A plain program written by hand (computed, not measured)',
    rows,
    notes: ['the same limits as above; no page mode, no polling, nothing read back'],
  };
}
