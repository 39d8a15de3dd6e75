// Facts in columns: plain padded text, numbers to the right, that also reads well when piped.

export type Align = 'left' | 'right';

/** Rows of cells under a heading, each column as wide as its widest cell; no trailing spaces. */
export function columns(
  heading: readonly string[],
  rows: readonly (readonly string[])[],
  aligns: readonly Align[] = [],
): string {
  const all = [heading, ...rows];
  const widths = heading.map((_, i) => Math.max(...all.map((row) => (row[i] ?? '').length)));
  const line = (row: readonly string[]): string =>
    widths
      .map((width, i) => (aligns[i] === 'right' ? (row[i] ?? '').padStart(width) : (row[i] ?? '').padEnd(width)))
      .join('  ')
      .trimEnd();
  return `${all.map(line).join('\n')}\n`;
}
