// One cause, one message: findings that only follow from a name that is not known are left out.
import { nearNames } from '../ground/near-names.js';
import { countOf } from '../ground/quantity.js';
import { isAt } from './sound-part.js';
import type { Finding } from './table.js';

/** Judgements of what lines and conditions do, and how many steps around their own place they look. */
const reaches: Readonly<Record<string, number>> = {
  'bus.nobody-drives': 0,
  'bus.two-drivers': 0,
  'case.never': 1,
  'line.unused': 0,
  'row.into-unused': 0,
  'row.no-end': 0,
  'row.no-target': 0,
  'row.off-end': 0,
};

type UnknownName = Finding & { readonly unknown: string };

/** `broken` are the names of fields whose declaration is wrong: that nobody knows them elsewhere was to be expected. */
export function withoutEchoes(findings: readonly Finding[], broken: ReadonlySet<string>): readonly Finding[] {
  const unknown = findings.filter((f): f is UnknownName => f.unknown !== undefined);
  const causes = findings.filter(
    (f) => !isOfBroken(f, broken) && !unknown.some((u) => isNearby(f, u) || isOfTheOneMeant(f, u)),
  );
  return onceEach(causes);
}

const isOfBroken = ({ code, message }: Finding, broken: ReadonlySet<string>): boolean =>
  code === 'field.unknown' && [...broken].some((name) => message.includes(`"${name}"`));

/** A judgement of a place where a name is not known may be another when it is. */
function isNearby({ code, path }: Finding, unknown: UnknownName): boolean {
  const reach = reaches[code];
  return reach !== undefined && isAt(unknown.path, [path.slice(0, path.length - reach)]);
}

/** What is wrong with a thing may come from its being misspelt elsewhere: a bus "rail" that nobody drives, beside "rial". */
function isOfTheOneMeant({ code, message }: Finding, { code: of, unknown }: UnknownName): boolean {
  if (code === of || !(code in reaches) || code.split('.')[0] !== of.split('.')[0]) return false;
  const quoted = [...message.matchAll(/"([^"]+)"/g)].map(([, name]) => name!);
  return nearNames(unknown, quoted).length > 0;
}

/** Of findings about one unknown name the first, which counts the others. */
function onceEach(findings: readonly Finding[]): readonly Finding[] {
  const counts = new Map<string, number>();
  for (const { unknown } of findings) if (unknown !== undefined) counts.set(unknown, (counts.get(unknown) ?? 0) + 1);
  const said = new Set<string>();
  return findings.flatMap((finding) => {
    const { unknown, why } = finding;
    if (unknown === undefined) return [finding];
    if (said.has(unknown)) return [];
    said.add(unknown);
    const more = counts.get(unknown)! - 1;
    return [more === 0 ? finding : { ...finding, why: `${why} ${sayMore(more)}` }];
  });
}

const sayMore = (more: number): string => `The same name stands in ${countOf(more, 'more place', 'more places')}.`;
