// What the rig check says: what is wrong, then for each line what is proven and what is not, and by what.
import { spellWiringFault } from '../chip/wiring-fault.js';
import type { RigVerdict } from '../suspect/judge-rig.js';
import { countOf } from './quantity.js';

const unseenMost = 8;

/** Tests get a letter, so that each proof can name its witnesses in little room. */
const letterOf = (index: number): string => String.fromCharCode('a'.charCodeAt(0) + index);

const joined = (names: readonly string[]): string => (names.length === 1 ? names[0]! : `${names[0]}..${names.at(-1)}`);

/** One line a wire; neighbours of which the same is known share a line. */
function linesText(verdict: RigVerdict): string {
  const letters = (tests: readonly string[]): string => tests.map((t) => letterOf(verdict.tests.indexOf(t))).join('');
  const rows: { names: string[]; proven: string; open: string }[] = [];
  for (const line of verdict.lines) {
    const proven = line.proven.map((p) => `${p.what} [${letters(p.by)}]`).join(', ') || 'nothing proven';
    const open = line.notProven.join(', ');
    const last = rows.at(-1);
    if (last?.proven === proven && last.open === open && last.names[0]![0] === line.line[0]) last.names.push(line.line);
    else rows.push({ names: [line.line], proven, open });
  }
  return rows
    .map(
      ({ names, proven, open }) =>
        `  ${joined(names).padEnd(7)} ${proven}\n${open === '' ? '' : `          not proven: ${open}\n`}`,
    )
    .join('');
}

/** `sound` includes the reading of a reference chip. */
export function rigText(verdict: RigVerdict, sound: boolean): string {
  const parts = [`Tests: ${verdict.tests.map((t, i) => `[${letterOf(i)}] ${t}`).join(', ')}.\n`];
  parts.push(sound ? 'Nothing wrong seen.\n' : 'The rig is not sound.\n');
  if (verdict.explanations.length > 0) {
    parts.push(verdict.explanations.length === 1 ? 'Explanation:\n' : 'Any one of these would give what was seen:\n');
    parts.push(...verdict.explanations.map((e) => `  - ${e.text}\n`));
  }
  parts.push(...verdict.remarks.map((r) => `${r}\n`));
  if (verdict.reference && !verdict.reference.healthy)
    parts.push(...verdict.reference.explanations.slice(0, 4).map((e) => `  - from the reference chip: ${e.text}\n`));
  parts.push('Line by line:\n', linesText(verdict));
  if (verdict.unseen.length > 0) {
    const shown = verdict.unseen.slice(0, unseenMost).map(spellWiringFault).join(', ');
    const more = verdict.unseen.length > unseenMost ? ', ...' : '';
    parts.push(`These tests cannot see ${countOf(verdict.unseen.length, 'single fault')}: ${shown}${more}.\n`);
  }
  parts.push(`Next: ${verdict.next}\n`);
  return parts.join('');
}
