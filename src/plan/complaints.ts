// Findings as they are collected while a plan is compiled.
import { nearNames } from '../ground/near-names.js';
import type { Finding, Path } from './table.js';

/** `more` says where inside the value, or whatever else a finding knows. */
type Complain = (code: string, message: string, why: string, path: Path, more?: Partial<Finding>) => void;

export interface Complaints {
  readonly findings: readonly Finding[];
  add(more: readonly Finding[]): void;
  readonly error: Complain;
  readonly warning: Complain;
  /** The same, pointing at the key instead of the value under it. */
  readonly errorAtKey: Complain;
  readonly warningAtKey: Complain;
  /** A name that is not among the known ones; points at the key. */
  unknownName(what: 'field' | 'output', name: string, known: Iterable<string>, path: Path): void;
  /** Findings are added at this path from there on. */
  under(prefix: Path): Complaints;
}

/**
 * More than anyone would work through before trying again; a hostile plan could have one for every word. Errors and warnings
 * are counted apart: no crowd of warnings hides an error.
 */
const mostOfEach = 200;

export function complaints(findings: Finding[] = [], prefix: Path = []): Complaints {
  const isRoomFor = (severity: Finding['severity']): boolean =>
    findings.filter((f) => f.severity === severity).length < mostOfEach;
  const add = (more: readonly Finding[]): void => {
    for (const finding of under(prefix, more)) if (isRoomFor(finding.severity)) findings.push(finding);
  };
  const complain =
    (severity: Finding['severity'], onKey: boolean): Complain =>
    (code, message, why, path, more) =>
      add([{ severity, code, message, why, path, onKey, ...more }]);
  const errorAtKey = complain('error', true);
  return {
    findings,
    add,
    error: complain('error', false),
    warning: complain('warning', false),
    errorAtKey,
    warningAtKey: complain('warning', true),
    unknownName: (what, name, known, path) => {
      // Near names are looked for only where they will be said.
      if (isRoomFor('error'))
        errorAtKey(`${what}.unknown`, `There is no ${what} "${name}".`, meantOrKnown(name, known), path, {
          unknown: name,
        });
    },
    under: (more) => complaints(findings, [...prefix, ...more]),
  };
}

/** What a mistyped name may have meant, or else all that is known. */
export function meantOrKnown(name: string, known: Iterable<string>): string {
  const names = [...known];
  const near = nearNames(name, names)[0];
  return near === undefined ? `Known are: ${names.join(', ') || 'none'}.` : `Did you mean "${near}"?`;
}

/** " (did you mean "x"?)" where a known name is near a mistyped one, otherwise nothing. */
export function nearest(wrong: string, known: Iterable<string>): string {
  const near = nearNames(wrong, [...known])[0];
  return near === undefined ? '' : ` (did you mean "${near}"?)`;
}

/** The same findings, seen from further outside. */
export const under = (prefix: Path, findings: readonly Finding[]): readonly Finding[] =>
  prefix.length === 0 ? findings : findings.map((f) => ({ ...f, path: [...prefix, ...f.path] }));
