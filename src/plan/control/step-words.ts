// One step of a plan resolved: for each setting of the flags the word that it asserts.

import type { Complaints } from '../complaints.js';
import type { Path } from '../table.js';
import { settingInWords } from './coded-output.js';
import type { Line, LineSetting, Word, WordPool } from './control-word.js';
import type { Settings } from './flag-settings.js';
import type { StepNames } from './step-names.js';
import type { StepSpec } from './step-schema.js';

export interface Step {
  /** Where the step stands in the contents. */
  readonly path: Path;
  /** One word for each setting of the flags. */
  readonly words: readonly Word[];
}

interface Case {
  readonly settings: Settings;
  readonly lines: readonly LineSetting[];
  readonly path: Path;
}

/** What the steps of a plan are resolved with. */
export interface StepGround {
  readonly lines: readonly Line[];
  readonly names: StepNames;
  readonly pool: WordPool;
  /** The settings of the flags that can occur. */
  readonly possible: Settings;
}

/** Cases are tried in order and the first that holds is taken. */
export function stepWords(spec: StepSpec, path: Path, ground: StepGround, complaints: Complaints): Step {
  const { names, possible } = ground;
  if (typeof spec === 'string' || Array.isArray(spec)) {
    const word = wordOf([], names.linesIn(spec, path), ground, path, complaints);
    return { path, words: Array.from(possible, () => word) };
  }
  const { when, cases: caseSpecs } = spec;
  if (when !== undefined && caseSpecs !== undefined) {
    const why = 'Put the "when" into each case, so that it is plain which one holds.';
    complaints.error('step.mixed', 'A step has either "when" or "cases", not both.', why, [...path, 'when'], {
      onKey: true,
    });
  }
  const own = names.linesIn(spec.do, [...path, 'do']);
  const cases: readonly Case[] =
    when !== undefined
      ? [{ settings: names.settingsOf(when, [...path, 'when']), lines: own, path: [...path, 'when'] }]
      : (caseSpecs ?? []).map((c, i) => ({
          settings: names.settingsOf(c.when, [...path, 'cases', i, 'when']),
          lines: names.linesIn(c.do, [...path, 'cases', i, 'do']),
          path: [...path, 'cases', i],
        }));
  const chosen = Array.from(possible, (_, s) => cases.findIndex((c) => c.settings[s] === 1));
  const canBe = new Set(chosen.filter((_, s) => possible[s] === 1));
  cases.forEach((c, i) => {
    if (!canBe.has(i)) complainOfCase(c, possible, complaints);
  });
  const always = when === undefined ? own : [];
  const otherwise = wordOf(always, [], ground, path, complaints);
  const byCase = cases.map((c) => wordOf(always, c.lines, ground, c.path, complaints));
  return { path, words: chosen.map((which) => byCase[which] ?? otherwise) };
}

/** The word of what a step does always and what a case of it adds. */
function wordOf(
  always: readonly LineSetting[],
  added: readonly LineSetting[],
  { lines, pool }: StepGround,
  path: Path,
  { error }: Complaints,
): Word {
  const given = new Map<number, number>();
  for (const { line, value } of [...always, ...added]) {
    const earlier = given.get(line) ?? value;
    if (earlier !== value) {
      const [one, other] = [earlier, value].map((v) => `"${settingInWords(lines[line]!, v)}"`);
      const why = 'An encoded line carries one value at a time; one of them needs a step of its own.';
      error('code.two-of-one', `${one} and ${other} stand in one step.`, why, path);
    }
    given.set(line, value);
  }
  return pool.word([...given].map(([line, value]) => ({ line, value })));
}

function complainOfCase(c: Case, possible: Settings, { warning }: Complaints): void {
  const shadowed = c.settings.some((holds, s) => holds === 1 && possible[s] === 1);
  const message = shadowed
    ? 'This case is never chosen: the cases before it take every setting that it is for.'
    : 'This case is never chosen: the flags are never so.';
  warning('case.never', message, 'The first case that holds is taken; put it higher, or leave it out.', c.path);
}
