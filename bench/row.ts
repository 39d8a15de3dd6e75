// One row of the table, and the table as text: what is the limit, what was measured, how many times the limit is that, what is to be reached.

export interface Row {
  readonly work: string;
  readonly limit: string;
  readonly measured: string;
  /** Measured over limit; null where there is none. */
  readonly ratio: number | null;
  /** The most that ratio or measured value may be, as text; empty where nothing was set. */
  readonly reach: string;
  /** Null where nothing was set. */
  readonly met: boolean | null;
}

/** Rows under one heading. */
export interface Section {
  readonly heading: string;
  readonly rows: readonly Row[];
  /** What a reader must know to trust the figures. */
  readonly notes: readonly string[];
}

const seconds = (ms: number): string => `${(ms / 1000).toFixed(3)} s`;

/** A time against its limit, both in milliseconds. */
export function timeRow(work: string, limitMs: number, measuredMs: number, mostRatio: number | null = null): Row {
  return ratioRow(work, seconds(limitMs), seconds(measuredMs), measuredMs / limitMs, mostRatio);
}

/** Two figures with their units, whose ratio counts. */
export function ratioRow(
  work: string,
  limit: string,
  measured: string,
  ratio: number,
  mostRatio: number | null = null,
): Row {
  const reach = mostRatio === null ? '' : `<= ${mostRatio} x`;
  return { work, limit, measured, ratio, reach, met: mostRatio === null ? null : ratio <= mostRatio };
}

/** A figure that is held to a limit of its own. */
export function figureRow(work: string, measured: number, unit: string, most: number | null = null, digits = 3): Row {
  const text = `${measured.toFixed(digits)} ${unit}`;
  const reach = most === null ? '' : `<= ${most} ${unit}`;
  return { work, limit: '', measured: text, ratio: null, reach, met: most === null ? null : measured <= most };
}

/** A figure in words, without a limit. */
export const plainRow = (work: string, measured: string): Row => ({
  work,
  limit: '',
  measured,
  ratio: null,
  reach: '',
  met: null,
});

/** In words: printed in one piece, not in columns. */
const isPlain = (row: Row): boolean => row.limit === '' && row.reach === '';

const heads = ['work', 'limit', 'measured', 'ratio', 'reach', ''];

const cellsOf = (row: Row): string[] => [
  row.work,
  row.limit,
  row.measured,
  row.ratio === null ? '' : `${row.ratio.toFixed(3)} x`,
  row.reach,
  row.met === null ? '' : row.met ? 'reached' : 'MISSED',
];

/** All sections as one table. */
function tableText(sections: readonly Section[]): string {
  const inColumns = sections.flatMap((s) => s.rows.filter((row) => !isPlain(row)));
  const all = [heads, ...inColumns.map(cellsOf)];
  const widths = heads.map((_, column) => Math.max(...all.map((cells) => cells[column]!.length)));
  const line = (cells: readonly string[]): string =>
    cells
      .map((cell, column) => (column === 0 ? cell.padEnd(widths[column]!) : cell.padStart(widths[column]!)))
      .join('  ')
      .trimEnd();
  const rule = '-'.repeat(widths.reduce((sum, width) => sum + width + 2, -2));
  const lines = [line(heads), rule];
  const textOf = (row: Row): string => (isPlain(row) ? `${row.work}: ${row.measured}` : line(cellsOf(row)));
  for (const { heading, rows, notes } of sections)
    lines.push(heading, ...rows.map(textOf), ...notes.map((note) => `  (${note})`), rule);
  return `${lines.join('\n')}\n`;
}

/** Prints all sections as one table. A bound that is missed ends the program with 1. */
export function tellTable(sections: readonly Section[]): void {
  process.stdout.write(tableText(sections));
  if (sections.some(({ rows }) => rows.some((row) => row.met === false))) process.exitCode = 1;
}
