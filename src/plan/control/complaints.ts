// Findings as they are collected while contents are compiled.
import { nearNames } from '../../ground/near-names.js';
import type { Field, Finding, Path } from '../table.js';
import { widestInputs } from '../value-grid.js';

export interface Complaints {
  readonly findings: readonly Finding[];
  add(more: readonly Finding[]): void;
  error(code: string, message: string, why: string, path: Path, more?: Partial<Finding>): void;
  warning(code: string, message: string, why: string, path: Path, more?: Partial<Finding>): void;
}

export function complaints(): Complaints {
  const findings: Finding[] = [];
  return {
    findings,
    add: (more) => {
      findings.push(...more);
    },
    error: (code, message, why, path, more) => {
      findings.push({ severity: 'error', code, message, why, path, ...more });
    },
    warning: (code, message, why, path, more) => {
      findings.push({ severity: 'warning', code, message, why, path, ...more });
    },
  };
}

/** " (did you mean "x"?)" where a known name is near a mistyped one, otherwise nothing. */
export function nearest(wrong: string, known: Iterable<string>): string {
  const near = nearNames(wrong, [...known])[0];
  return near === undefined ? '' : ` (did you mean "${near}"?)`;
}

/** Complains where inputs are wider together than any chip could take; such a table is not laid out. */
export function tooWide(inputs: readonly Field[], { error }: Complaints): boolean {
  const bits = inputs.reduce((sum, field) => sum + field.bits, 0);
  if (bits <= widestInputs) return false;
  const why = `At most ${widestInputs} bits can be worked with; the largest chips have 19 address lines.`;
  error('contents.too-wide', `The fields of these contents are ${bits} bits wide together.`, why, []);
  return true;
}
