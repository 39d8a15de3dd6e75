// What a readback says about faults: the explanations with their evidence, groups that fit equally, and what stays open.
import type { CorrectedPins, ReadbackVerdict } from '../suspect/explanation.js';
import { addressText, countOf } from './quantity.js';
import { readbackWords, type SaidVerdict } from './suspect-words.js';

type Said = SaidVerdict['explanations'][number];

const indented = (text: string): string => text.replace(/^(?=.)/gm, '      ');

/** What stands below an explanation. */
function groundsText(e: Said, cells: number, pins: (pins: CorrectedPins) => string): string {
  const lines: string[] = [];
  if (e.unexplained.length > 0) {
    const first = addressText(e.unexplained[0] ?? 0, cells);
    lines.push(
      `     It leaves ${countOf(e.unexplained.length, 'address', 'addresses')} unexplained, the first ${first}.`,
    );
  }
  for (const evidence of e.evidence) lines.push(`     ${evidence}`);
  lines.push(`     Next: ${e.nextMeasurement}`);
  if (e.correctedPins)
    lines.push('     The pin lists of the plan as the wiring is:', indented(pins(e.correctedPins).trimEnd()));
  return `${lines.join('\n')}\n`;
}

/** Numbered explanations; what those side by side have in common is said once, below the last of them. */
function explanationsText(explanations: readonly Said[], cells: number, pins: (pins: CorrectedPins) => string): string {
  const grounds = explanations.map((e) => groundsText(e, cells, pins));
  let first = 0;
  return explanations
    .map((e, i) => {
      const text = `  ${i + 1}. ${e.text}\n`;
      if (grounds[i] === grounds[i + 1]) return text;
      const shared = i > first ? `     Of ${first + 1} ${i - first > 1 ? 'to' : 'and'} ${i + 1} alike:\n` : '';
      first = i + 1;
      return text + shared + grounds[i];
    })
    .join('');
}

const unjudgedMost = 4;

/** Faults that this readback neither shows nor rules out. */
function unjudgedText({ unjudged }: SaidVerdict): string {
  if (unjudged.length === 0) return '';
  const rest = unjudged.length - unjudgedMost;
  return [
    'Possible, but not shown, because their differences fall on cells that the image does not define:\n',
    ...unjudged.slice(0, unjudgedMost).map(({ text }) => `  - ${text}\n`),
    ...(rest > 0 ? [`  ... and ${rest} more; --json lists them all.\n`] : []),
  ].join('');
}

/** `pins` spells corrected pin lists in the plan's own form. */
export function readbackVerdictText(facts: ReadbackVerdict, pins: (pins: CorrectedPins) => string): string {
  const verdict = readbackWords(facts);
  const { cells } = verdict;
  if (verdict.healthy)
    return `No fault shows: ${countOf(verdict.compared, 'byte')} compared, all equal.\n${verdict.bounds.map((b) => `${b}\n`).join('')}`;
  const parts = [
    `${countOf(verdict.differing, 'byte')} of ${verdict.compared} ${verdict.differing === 1 ? 'differs' : 'differ'}.\n`,
  ];
  if (verdict.explanations.length > 0) {
    const plural = verdict.explanations.length > 1;
    parts.push(`Suspect${plural ? 's, simplest first' : ''}:\n`);
    parts.push(explanationsText(verdict.explanations, cells, pins));
    if (verdict.notListed > 0)
      parts.push(
        `  ... and ${verdict.notListed} more that ${verdict.notListed === 1 ? 'reproduces' : 'reproduce'} the readback.\n`,
      );
  }
  for (const group of verdict.equallyGood)
    parts.push(`${group.map((i) => i + 1).join(', ')} fit equally well: this readback cannot tell them apart.\n`);
  parts.push(unjudgedText(verdict));
  if (verdict.noneOfThese !== null) parts.push(`${verdict.noneOfThese}\n`);
  if (verdict.partial.length > 0) {
    parts.push('Nearest, but not the whole story:\n');
    parts.push(explanationsText(verdict.partial, cells, pins));
  }
  if (verdict.nextSteps.length > 0)
    parts.push('What to do next:\n', ...verdict.nextSteps.map((step, i) => `  ${i + 1}. ${step}\n`));
  parts.push(...verdict.bounds.map((b) => `${b}\n`));
  return parts.join('');
}
