// What a conformance run found: a line for each rule that was tried, then what was not tried and why, then the counts.
import type { ConformanceReport, ConformanceResult } from '../conform/conformance.js';
import { countOf } from './quantity.js';

/** The line of one rule. An untried rule has none: the closing lines count those by what was missing. */
export function ruleText(result: ConformanceResult): string {
  if (result.outcome === 'untried') return '';
  const head = `${result.outcome.padEnd(6)} ${result.section}  ${result.rule}\n`;
  return result.outcome === 'kept'
    ? head
    : `${head}          wanted: ${result.wanted}\n          seen:   ${result.seen}\n`;
}

export function conformanceText({ results, writer, conforms, cellsPutBack, interrupted }: ConformanceReport): string {
  const count = (outcome: ConformanceResult['outcome']): number => results.filter((r) => r.outcome === outcome).length;
  const reasons = results.flatMap((r) => (r.outcome === 'untried' && r.reason !== null ? [r.reason] : []));
  const lines = [...new Set(reasons)].map(
    (reason) => `${countOf(reasons.filter((r) => r === reason).length, 'rule')} not tried: ${reason}.`,
  );
  lines.push(
    `${writer.build}: ${count('kept')} of ${countOf(results.length, 'rule')} kept, ${count('broken')} broken, ${count('untried')} not tried (firmware-protocol.md).`,
  );
  if (interrupted) lines.push('Interrupted before all rules were tried.');
  if (conforms) lines.push('The writer keeps every rule that was tried.');
  if (cellsPutBack !== null)
    lines.push(cellsPutBack ? 'The test cells hold their old bytes again.' : 'Some test cells could not be put back.');
  return `${lines.join('\n')}\n`;
}
