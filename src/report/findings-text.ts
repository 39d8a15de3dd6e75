// What `check` found, one finding after the other in the order of the plan, each with its place and its reason.

import { printable } from '../ground/byte-text.js';
import type { LocatedFinding } from '../plan/plan.js';
import { countOf } from './quantity.js';

const placeOf = (f: LocatedFinding): string => {
  const file = printable(f.file);
  return f.line !== null ? `${file}:${f.line}:${f.column}` : f.where === '' ? file : `${file}, at ${f.where}`;
};

export function findingsText(path: string, findings: readonly LocatedFinding[]): string {
  const file = printable(path);
  if (findings.length === 0) return `${file}: nothing wrong, nothing doubtful.\n`;
  const errors = findings.filter((f) => f.severity === 'error').length;
  const said = findings.map((f) => `${placeOf(f)}: ${f.severity}: ${f.message}\n  ${f.why}  [${f.code}]\n`);
  return `${said.join('')}${file}: ${countOf(errors, 'error')}, ${countOf(findings.length - errors, 'warning')}.\n`;
}
