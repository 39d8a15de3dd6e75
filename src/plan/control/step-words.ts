// One step of a plan resolved: for each setting of the flags the word that it asserts.

import type { Complaints } from '../complaints.js';
import type { Path } from '../table.js';
import type { Word, WordPool } from './control-word.js';
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
  readonly lines: readonly number[];
  readonly path: Path;
}

/** Cases are tried in order and the first that holds is taken; `possible` are the settings that can occur. */
export function stepWords(
  spec: StepSpec,
  path: Path,
  names: StepNames,
  pool: WordPool,
  possible: Settings,
  complaints: Complaints,
): Step {
  if (typeof spec === 'string' || Array.isArray(spec)) {
    const word = pool.word(names.linesIn(spec, path));
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
  const [otherwise, ...byCase] = [[], ...cases.map((c) => c.lines)].map((lines) => pool.word([...always, ...lines]));
  return { path, words: chosen.map((which) => byCase[which] ?? otherwise!) };
}

function complainOfCase(c: Case, possible: Settings, { warning }: Complaints): void {
  const shadowed = c.settings.some((holds, s) => holds === 1 && possible[s] === 1);
  const message = shadowed
    ? 'This case is never chosen: the cases before it take every setting that it is for.'
    : 'This case is never chosen: the flags are never so.';
  warning('case.never', message, 'The first case that holds is taken; put it higher, or leave it out.', c.path);
}
