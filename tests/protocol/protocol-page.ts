// Reads firmware-protocol.md: its tables and worked lines, for the tests that hold code to the page.
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const pagePath = fileURLToPath(new URL('../../firmware-protocol.md', import.meta.url));
const page = readFileSync(pagePath, 'utf8');

/** The rows of the one table whose first header cell and column count fit, cells trimmed. */
export function tableOf(...headers: string[]): string[][] {
  const lines = page.split('\n');
  const start = lines.findIndex((line) => {
    const cells = cellsOf(line);
    return cells.length === headers.length && headers.every((header, i) => cells[i] === header);
  });
  if (start < 0) throw new Error(`firmware-protocol.md has no table headed ${headers.join(' | ')}`);
  const rows: string[][] = [];
  for (const line of lines.slice(start + 2)) {
    if (!line.startsWith('|')) break;
    rows.push(cellsOf(line));
  }
  return rows;
}

const cellsOf = (line: string): string[] =>
  line.startsWith('|')
    ? line
        .split('|')
        .slice(1, -1)
        .map((cell) => cell.trim())
    : [];

/** The parameter tables of the two check sums, in the page's order: parameter to value. */
export function checkSumTables(): Map<string, string>[] {
  const tables: Map<string, string>[] = [];
  const rows = page.split('\n').map(cellsOf);
  rows.forEach((cells, i) => {
    if (cells[0] !== 'parameter') return;
    const table = new Map<string, string>();
    for (const row of rows.slice(i + 2)) {
      if (row.length !== 2) break;
      table.set(row[0]!, row[1]!);
    }
    tables.push(table);
  });
  return tables;
}

/** Every worked line of section 6 with who sent it, without the LF. */
export function workedLines(): { from: 'host' | 'writer'; line: string }[] {
  const lines: { from: 'host' | 'writer'; line: string }[] = [];
  for (const text of page.split('\n')) {
    const match = /^([<>]) (.+)$/.exec(text);
    if (match) lines.push({ from: match[1] === '>' ? 'host' : 'writer', line: match[2]! });
  }
  return lines;
}

/** The table of lines that are not good: the line without its LF, and the refusal's number. */
export const badLines = (): { line: string; refusal: number; why: string }[] =>
  tableOf('line (LF not shown)', 'refusal', 'why').map(([line, refusal, why]) => ({
    line: line!.slice(1, -1).replaceAll('\\r', '\r'),
    refusal: Number.parseInt(refusal!, 16),
    why: why!,
  }));

/** The page's text, for sentences that a test looks for. */
export const pageText = page;
