// Near misses: which known names a mistyped one may have meant.
import difference from 'damerau-levenshtein';

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
    .map((k) => ({ k, d: difference(wanted, k.toLowerCase().slice(0, mostLetters)).steps }))
    .filter(({ k, d }) => d <= allowed(k))
    .sort((x, y) => x.d - y.d)
    .slice(0, 3)
    .map(({ k }) => k);
}
