// What the rig check says: what is wrong, then for each line what is proven and what is not, and by what.
import { type LineName, spellWiringFault } from '../chip/wiring-fault.js';
import { drivenBytes } from '../suspect/bus-tests.js';
import type { RigObservations, RigVerdict } from '../suspect/judge-rig.js';
import { dataLineNames } from '../suspect/wiring.js';
import { listWords } from './fault-words.js';
import { countOf } from './quantity.js';
import { rigWords, type SaidProof, type SaidRig } from './rig-words.js';

const unseenMost = 8;
const referenceMost = 4;

/** Tests get a letter, so that each proof can name its witnesses in little room. */
const letterOf = (index: number): string => String.fromCharCode('a'.charCodeAt(0) + index);

const joined = (names: readonly string[]): string => (names.length === 1 ? names[0]! : `${names[0]}..${names.at(-1)}`);

/** One entry a wire: what is wrong with it, what is proven, what is not ruled out. Neighbours of which the same is known share one. */
function linesText(verdict: SaidRig): string {
  const said = ({ what, by }: SaidProof): string => {
    const letters = by.map((t) => letterOf(verdict.tests.indexOf(t))).sort();
    return `${what} [${letters.join('')}]`;
  };
  const rows: { names: string[]; said: string }[] = [];
  for (const { line, fault, proven, notProven } of verdict.lines) {
    const known = [
      ...(fault === null ? [] : [`${said(fault)}: ${fault.oneOf ? 'one of these' : 'this'} is what is wrong`]),
      ...(proven.length === 0 ? [] : [proven.map(said).join(', ')]),
      ...(notProven.length === 0 ? [] : [`not ruled out: ${notProven.join(', ')}`]),
    ].join('\n          ');
    const last = rows.at(-1);
    if (last?.said === known && last.names[0]![0] === line[0]) last.names.push(line);
    else rows.push({ names: [line], said: known });
  }
  return rows.map((row) => `  ${joined(row.names).padEnd(7)} ${row.said}\n`).join('');
}

/** What the reference chip shows beyond single faults and smaller chips, which all tests together have judged: several wires at once. */
const fromReference = ({ reference, explanations }: SaidRig): string[] =>
  (reference?.explanations ?? [])
    .filter((e) => explanations.length === 0 || e.faults.length > 1 || e.kind === 'permutation')
    .slice(0, referenceMost)
    .map((e) => `  - from the reference chip: ${e.text}\n`);

type DataLinesSeen = Partial<Pick<RigObservations, 'followed' | 'driven'>>;

/** Data lines that a chip does not drive, or that do not follow the writer. */
const linesAmiss = ({ followed = 0, driven = [] }: DataLinesSeen): LineName[] => {
  const wrong = driven.reduce((mask, byte, i) => mask | (byte ^ drivenBytes[i]!), followed);
  return dataLineNames.filter((_, bit) => wrong & (1 << bit));
};

/** Said where a data line keeps the scratch chip from being written. */
export function unwrittenText(seen: DataLinesSeen): string {
  const lines = linesAmiss(seen);
  const [carry, where] = lines.length === 1 ? ['does', 'that line'] : ['do', 'those lines'];
  return `Nothing was written to the chip: ${listWords(lines)} ${carry} not carry each level, so what the cells hold on ${where} could be neither kept nor put back. When that is mended run the check again: the address lines are not tested yet.\n`;
}

/** Said where it was written. */
export function writtenText(chip: {
  readonly putBack: boolean;
  readonly keptId: string;
  readonly leftProtected: boolean;
}): string {
  const back = chip.putBack
    ? `The chip reads as it did before; a copy of that is in the keep under ${chip.keptId}.\n`
    : '';
  return chip.leftProtected
    ? `${back}The chip is write-protected now: the codes that switch this on came through, those that switch it off did not. With the wires mended "romkiln unprotect" switches it off.\n`
    : back;
}

function headline({ chipInDoubt }: SaidRig, sound: boolean): string {
  if (sound) return 'Passed what these tests cover.';
  return chipInDoubt ? 'Undecided: the rig may be sound or not.' : 'The rig is not sound.';
}

/** One by one they are read up to so many. */
const oneByOneMost = 8;

/** Names that follow each other as one stretch: A0..A3, A5. */
const stretches = (names: readonly LineName[]): string => {
  const groups: LineName[][] = [];
  for (const name of names) {
    const last = groups.at(-1)?.at(-1);
    const follows = last !== undefined && last[0] === name[0] && Number(last.slice(1)) + 1 === Number(name.slice(1));
    if (follows) groups.at(-1)!.push(name);
    else groups.push([name]);
  }
  return listWords(groups.map(joined), 'or');
};

/** Many that tell no more than that any line may be inverted, or many pairs crossed, are said in two lines. */
function explanationTexts(explanations: SaidRig['explanations']): string[] {
  const texts = (list: SaidRig['explanations']): string[] => list.map(({ text }) => text);
  if (explanations.length <= oneByOneMost) return texts(explanations);
  const inverted: LineName[] = [];
  const partners = new Map<LineName, LineName[]>();
  const others = explanations.filter(({ fault }) => {
    if (fault?.kind === 'inverted') inverted.push(fault.line);
    else if (fault?.kind === 'crossed')
      partners.set(fault.lines[0], [...(partners.get(fault.lines[0]) ?? []), fault.lines[1]]);
    else return true;
    return false;
  });
  const crossed = [...partners].map(([line, partner]) => `${line} with ${stretches(partner)}`);
  return [
    ...texts(others),
    ...(inverted.length > 0 ? [`One line is inverted: ${stretches(inverted)}.`] : []),
    ...(crossed.length > 0 ? [`Two lines are crossed: ${crossed.join('; ')}.`] : []),
  ];
}

/** `sound` includes the reading of a reference chip. */
export function rigText(facts: RigVerdict, sound: boolean): string {
  const verdict = rigWords(facts);
  const parts = [`Tests: ${verdict.tests.map((t, i) => `[${letterOf(i)}] ${t}`).join(', ')}.\n`];
  parts.push(`${headline(verdict, sound)}\n`);
  parts.push(...verdict.bounds.map((b) => `${b}\n`));
  if (verdict.explanations.length > 0) {
    parts.push(verdict.explanations.length === 1 ? 'Explanation:\n' : 'Any one of these would give what was seen:\n');
    parts.push(...explanationTexts(verdict.explanations).map((text) => `  - ${text}\n`));
  }
  parts.push(...verdict.remarks.map((r) => `${r}\n`), ...fromReference(verdict));
  parts.push('Line by line:\n', linesText(verdict));
  if (verdict.unseen.length > 0) {
    const shown = verdict.unseen.slice(0, unseenMost).map(spellWiringFault).join(', ');
    const rest = verdict.unseen.length - unseenMost;
    const more = rest > 0 ? ` and ${rest} more; --json lists them all` : '';
    parts.push(`These tests cannot see ${countOf(verdict.unseen.length, 'single fault')}: ${shown}${more}.\n`);
  }
  parts.push(`Next: ${verdict.next}\n`);
  return parts.join('');
}
