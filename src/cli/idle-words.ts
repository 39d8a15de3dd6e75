// Words that one use of a command would have to ignore. They are refused: whoever typed them wanted something by them.
import { type IdleRule, type IdleWord, type OptionValues, textOption } from './command.js';
import { isPlanFile } from './plan-file.js';

const typed = (name: string): string => (name === 'output' ? '-o' : `--${name}`);
const given = (options: OptionValues, names: readonly string[]): string[] =>
  names.filter((name) => options[name] !== undefined);
const quoted = (words: readonly string[]): string[] => words.map((word) => `"${word}"`);

export interface ActionWords {
  /** How it is used, without `romkiln` and the command. */
  readonly usage: string;
  /** Words it takes, its own name among them; null for any number. */
  readonly words: number | null;
  readonly options: readonly string[];
}

/** Of a command whose first word says what is done: what the other actions take is of no use to this one. */
export const ofAction =
  (actions: Readonly<Record<string, ActionWords>>): IdleRule =>
  ([action = '', ...rest], options) => {
    const own = Object.hasOwn(actions, action) ? actions[action]! : null;
    if (own === null) return [];
    const others = [...new Set(Object.values(actions).flatMap((a) => a.options))].filter(
      (name) => !own.options.includes(name),
    );
    const words = [
      ...quoted(own.words === null ? [] : rest.slice(own.words - 1)),
      ...given(options, others).map(typed),
    ];
    return words.map((word) => ({ action, word, right: `Usage: romkiln {} ${own.usage}.` }));
  };

const romOf = (options: OptionValues, plans: readonly (string | null | undefined)[]): IdleWord[] =>
  textOption(options, 'rom') !== null && !plans.some((path) => path && isPlanFile(path))
    ? [{ word: '--rom', right: 'It chooses a ROM of a plan, and no plan is named here.' }]
    : [];

/** --rom where no word is a plan. */
export const romOfWords: IdleRule = (operands, options) => romOf(options, operands);

/** Of the rig check: --rom where the reference is no plan, --label where no chip is written, which alone the book cares for. */
export const ofRigStages: IdleRule = (_, options) => [
  ...romOf(options, [textOption(options, 'reference')]),
  ...(options.label !== undefined && options.scratch !== true
    ? [{ word: '--label', right: 'It names the chip that --scratch writes, for the book.' }]
    : []),
];

/** Of conform: what only a chip that is written needs. */
export const ofScratchChip: IdleRule = (_, options) =>
  options.scratch === true
    ? []
    : given(options, ['label', 'discard']).map((name) => ({
        word: typed(name),
        right: 'It is for the chip that --scratch writes.',
      }));

/** Of the book: a note is settled by its id, whatever its label. */
export const besideSettling: IdleRule = (_, options) =>
  options.settle !== undefined && options.label !== undefined
    ? [{ word: '--label', right: 'With --settle the note is named by its id.' }]
    : [];

/** The schema is the same whatever the plan. */
export const besideSchema: IdleRule = (operands, options) =>
  options.schema === true
    ? [...quoted(operands), ...given(options, ['output', 'format', 'overwrite']).map(typed)].map((word) => ({
        word,
        right: 'With --schema the schema is printed, and nothing else is done.',
      }))
    : [];

/** Questions about the bench are answered by a person or a file, so a readback is of no use to them. */
export const besideQuestions: IdleRule = (operands, options) => {
  const rom = romOf(options, operands.slice(0, 1));
  if (!['bench', 'seen', 'next'].some((name) => options[name] !== undefined)) return rom;
  const words = [...quoted(operands.slice(1)), ...given(options, ['before', 'chip']).map(typed)];
  const right =
    'With --bench, --seen or --next it goes by what the display or the lamps show; a readback is judged without them.';
  return [...rom, ...words.map((word) => ({ word, right }))];
};

/** A format without a file. */
export const formatOfNoFile: IdleRule = (_, options) =>
  textOption(options, 'format') !== null && textOption(options, 'output') === null
    ? [{ word: '--format', right: 'It says how the file of -o is written; add -o.' }]
    : [];

/** What several rules find. */
export const anyOf =
  (...rules: readonly IdleRule[]): IdleRule =>
  (operands, options) =>
    rules.flatMap((rule) => rule(operands, options));
