// Mistakes planted in a plan: a mark in the text shows where each finding must point.
import { inspectPlan, type LocatedFinding } from '../../../src/plan/plan.js';

const mark = '»';

/** The plan without its marks, everything found in it, and the places of the marks as "line:column". */
export function inspectMarked(marked: string): { findings: readonly LocatedFinding[]; marks: readonly string[] } {
  const marks = marked
    .split('\n')
    .flatMap((line, row) =>
      [...line.matchAll(new RegExp(mark, 'g'))].map(({ index }, earlier) => `${row + 1}:${index - earlier + 1}`),
    );
  return { findings: inspectPlan(marked.replaceAll(mark, ''), 'planted.yaml').findings, marks };
}

/** The findings with one code, as "line:column message". */
export const saidOf = (findings: readonly LocatedFinding[], code: string): readonly string[] =>
  findings.filter((f) => f.code === code).map((f) => `${f.line}:${f.column} ${f.message}`);
