// Misspelt keys read as the keys that they are nearest to: the misspelling is said, and what follows from it is not.
import { nearNames } from '../ground/near-names.js';
import type { Finding, Path } from './table.js';

type Written = Readonly<Record<string, unknown>>;

/** So many unknown keys of one map are compared: a file from outside could hold thousands. */
const mostCompared = 100;

/** Misspelt keys with what they mean: the nearest known key that is not there itself, and that no key before it means. */
export function meantKeys(written: Written, known: readonly string[]): ReadonlyMap<string, string> {
  const missing = new Set(known.filter((key) => !Object.hasOwn(written, key)));
  const unknown = Object.keys(written).filter((key) => !known.includes(key));
  const meant = new Map<string, string>();
  for (const key of unknown.slice(0, mostCompared)) {
    const [near] = nearNames(key, [...missing]);
    if (near === undefined) continue;
    meant.set(key, near);
    missing.delete(near);
  }
  return meant;
}

export class MeantKeys {
  /** Where a meant key stands in the plan -> how it is written there. */
  readonly #misspelt = new Map<string, string>();

  /** The same map with its misspelt keys as they are meant; `path` says where it stands, in meant keys. */
  read(written: Written, known: readonly string[], path: Path): Written {
    const meant = meantKeys(written, known);
    for (const [key, means] of meant) this.#misspelt.set(JSON.stringify([...path, means]), key);
    if (meant.size === 0) return written;
    return Object.fromEntries(Object.entries(written).map(([key, value]) => [meant.get(key) ?? key, value]));
  }

  /** A finding with its path as the plan writes it. */
  asWritten(finding: Finding): Finding {
    if (this.#misspelt.size === 0) return finding;
    const path = finding.path.map(
      (key, depth) => this.#misspelt.get(JSON.stringify(finding.path.slice(0, depth + 1))) ?? key,
    );
    return { ...finding, path };
  }
}
