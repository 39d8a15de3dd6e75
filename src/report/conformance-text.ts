// What a conformance run found, one line a rule and a closing sentence.
import type { ConformanceReport, ConformanceResult } from '../conform/conformance.js';
import { countOf } from './quantity.js';

export function ruleText(result: ConformanceResult): string {
  const head = `${result.outcome.padEnd(7)} ${result.section}  ${result.rule}\n`;
  if (result.outcome === 'broken')
    return `${head}           wanted: ${result.wanted}\n           seen:   ${result.seen}\n`;
  return result.outcome === 'untried' ? `${head}           ${result.reason}\n` : head;
}

export function conformanceText({ results, writer, conforms, cellsPutBack }: ConformanceReport): string {
  const count = (outcome: ConformanceResult['outcome']): number => results.filter((r) => r.outcome === outcome).length;
  const lines = [
    `${writer.build}: ${countOf(count('kept'), 'rule')} kept, ${count('broken')} broken, ${count('untried')} untried of ${results.length} (firmware-protocol.md).`,
  ];
  if (conforms) lines.push('What was tried conforms.');
  if (cellsPutBack !== null)
    lines.push(
      cellsPutBack
        ? 'The cells that were written hold their old bytes again.'
        : 'The cells that were written could not all be put back.',
    );
  return `${lines.join('\n')}\n`;
}
