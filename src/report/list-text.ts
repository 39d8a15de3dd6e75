// The rows of `list` as text: headings, and under them what each setting does, in two columns.
import type { ListRow } from '../plan/table.js';

const widestMax = 40;

export function listText(rows: readonly ListRow[]): string {
  const left = (row: ListRow): string => `${'  '.repeat(row.level)}${row.when}`;
  const width = Math.min(widestMax, Math.max(0, ...rows.filter((r) => r.does !== '').map((r) => left(r).length)));
  return rows.map((row) => `${row.does === '' ? left(row) : `${left(row).padEnd(width)}  ${row.does}`}\n`).join('');
}
