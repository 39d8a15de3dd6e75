// Near misses: which known names a mistyped one may have meant.

/** Edit distance with neighbouring characters swapped as one step (optimal string alignment; textbook form, from memory). */
function distance(a: string, b: string): number {
  let [before, last, row] = [0, 1, 2].map(() => new Uint8Array(b.length + 1)) as [Uint8Array, Uint8Array, Uint8Array];
  for (let j = 0; j <= b.length; j += 1) last[j] = j;
  for (let i = 1; i <= a.length; i += 1) {
    row[0] = i;
    for (let j = 1; j <= b.length; j += 1) {
      const same = a[i - 1] === b[j - 1] ? 0 : 1;
      let best = Math.min(last[j]! + 1, row[j - 1]! + 1, last[j - 1]! + same);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) best = Math.min(best, before[j - 2]! + 1);
      row[j] = best;
    }
    [before, last, row] = [last, row, before];
  }
  return last[b.length]!;
}

/** Letters that are compared; longer names differ enough in these. */
const mostLetters = 32;

/** So many names of fitting length are compared: a file from outside could hold thousands, and misspell each of them. */
const mostCompared = 100;

/** Up to three known names that differ little from `name`, nearest first; case does not count. */
export function nearNames(name: string, known: readonly string[]): string[] {
  const wanted = name.toLowerCase().slice(0, mostLetters);
  const allowed = (k: string): number => Math.max(1, Math.floor(Math.min(k.length, mostLetters) / 3));
  const fitting: string[] = [];
  for (const k of known) {
    if (Math.abs(Math.min(k.length, mostLetters) - wanted.length) <= allowed(k)) fitting.push(k);
    if (fitting.length >= mostCompared) break;
  }
  return fitting
    .map((k) => ({ k, d: distance(wanted, k.toLowerCase().slice(0, mostLetters)) }))
    .filter(({ k, d }) => d <= allowed(k))
    .sort((x, y) => x.d - y.d)
    .slice(0, 3)
    .map(({ k }) => k);
}
