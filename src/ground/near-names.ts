// Near misses: which known names a mistyped one may have meant.

/** Edit distance with neighbouring characters swapped as one step (optimal string alignment; textbook form, from memory). */
function distance(a: string, b: string): number {
  const rows = Array.from({ length: a.length + 1 }, (_, i) => [i, ...new Array<number>(b.length).fill(0)]);
  for (let j = 1; j <= b.length; j += 1) rows[0]![j] = j;
  for (let i = 1; i <= a.length; i += 1) {
    for (let j = 1; j <= b.length; j += 1) {
      const same = a[i - 1] === b[j - 1] ? 0 : 1;
      let best = Math.min(rows[i - 1]![j]! + 1, rows[i]![j - 1]! + 1, rows[i - 1]![j - 1]! + same);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) best = Math.min(best, rows[i - 2]![j - 2]! + 1);
      rows[i]![j] = best;
    }
  }
  return rows[a.length]![b.length]!;
}

/** Up to three known names that differ little from `name`, nearest first; case does not count. */
export function nearNames(name: string, known: readonly string[]): string[] {
  const wanted = name.toLowerCase().slice(0, 64);
  return known
    .map((k) => ({ k, d: distance(wanted, k.toLowerCase()) }))
    .filter(({ k, d }) => d <= Math.max(1, Math.floor(k.length / 3)))
    .sort((x, y) => x.d - y.d)
    .slice(0, 3)
    .map(({ k }) => k);
}
