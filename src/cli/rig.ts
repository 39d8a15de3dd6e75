// romkiln rig: the writer's own wiring, tested with an empty socket, with a scratch chip, or with a reference chip.
import { ToolError } from '../ground/errors.js';
import { exit, worstExit } from '../ground/exit.js';
import type { Image } from '../image/image.js';
import { rigText, unwrittenText, writtenText } from '../report/rig-text.js';
import { rigWords } from '../report/rig-words.js';
import { judgeRig } from '../suspect/judge-rig.js';
import type { Errand } from '../task/records.js';
import { type Found, tryEmpty, tryReference, tryScratch } from '../task/rig.js';
import type { Target } from '../task/session.js';
import type { Surroundings } from '../task/surroundings.js';
import { seatedChipRemark } from './chip-remark.js';
import { type Execute, flagOption, type Invocation, textOption } from './command.js';
import { errandOf, faceOf } from './face.js';
import { loadSource } from './source.js';
import { prepare } from './target.js';

interface Stage {
  readonly option: string;
  /** What the person has to do, and what will be done then. */
  readonly prompt: string;
  try(around: Surroundings, target: Target, errand: Errand): Promise<Found>;
}

const emptySocket: Stage = {
  option: '--empty',
  prompt: 'Power off, take the chip out so that the socket is empty, power on.',
  try: tryEmpty,
};

const scratchChip: Stage = {
  option: '--scratch',
  prompt:
    'Power off, seat a scratch chip, power on. Its cells will be written; they are read into the keep first and put back at the end.',
  try: tryScratch,
};

const referenceChip = (wanted: Image): Stage => ({
  option: '--reference',
  prompt: `Power off, seat the reference chip that holds ${wanted.name}, power on. It is only read.`,
  try: (around, target) => tryReference(around, target, wanted),
});

/** Asks for what must be in the socket; false when the person stopped. */
async function isReady({ world, options }: Invocation, { prompt }: Stage): Promise<boolean> {
  if (flagOption(options, 'yes')) return true;
  const answer = await world.ask(`${prompt} Type yes to go on: `);
  return answer !== null && /^y(es)?$/i.test(answer.trim()) && !world.interrupt.aborted;
}

/** What became of the scratch chip, where one was seated. */
function scratchText({ scratch, seen }: Found): string {
  if (!scratch) return '';
  const { written, kept, changed, leftProtected } = scratch;
  return written && kept !== null
    ? writtenText({ putBack: changed.length === 0, keptId: kept, leftProtected })
    : unwrittenText(seen);
}

/** Judges what the stages found so far and says it. Returns the exit number. */
function sayVerdict({ world, options, command }: Invocation, { part }: Target, found: readonly Found[]): number {
  const verdict = judgeRig(Object.assign({ part }, ...found.map(({ seen }) => seen)));
  const sound = verdict.sound && (verdict.reference === null || verdict.reference.healthy);
  const facts = found.find((one) => one.scratch);
  const json = flagOption(options, 'json');
  world.stdout.write(
    json
      ? `${JSON.stringify({ command, ...rigWords(verdict), sound, ...(facts && { scratch: facts.scratch }) })}\n`
      : `${rigText(verdict, sound)}${found.map(scratchText).join('')}`,
  );
  return worstExit([sound ? exit.done : exit.differs, ...found.map((one) => one.exit ?? exit.done)]);
}

export const execute: Execute = async (invocation) => {
  const { world, options, command } = invocation;
  const reference = textOption(options, 'reference');
  const target = await prepare(invocation, null, async (part) =>
    reference === null || part === null ? null : (await loadSource(world, reference, options, part.cells)).image,
  );
  const stages = [
    ...(flagOption(options, 'empty') ? [emptySocket] : []),
    ...(flagOption(options, 'scratch') ? [scratchChip] : []),
    ...(target.also ? [referenceChip(target.also)] : []),
  ];
  if (stages.length === 0)
    throw new ToolError('cli.missing-option', {
      command,
      option: '--empty, --scratch or --reference <image>',
      why: 'it must know what is in the socket.',
    });
  const remark = await seatedChipRemark(world, target);
  if (remark !== null) world.stderr.write(`${remark}\n`);
  const found: Found[] = [];
  // With --json there is one object: that of the end.
  const sayBefore = (): void => {
    if (found.length > 0 && !flagOption(options, 'json')) sayVerdict(invocation, target, found);
  };
  for (const stage of stages) {
    if (!(await isReady(invocation, stage))) {
      sayBefore();
      const done = stages.slice(0, found.length).map((s) => s.option);
      throw new ToolError('cli.stopped-before', { option: stage.option, done });
    }
    try {
      found.push(await stage.try(faceOf(invocation), target, errandOf(invocation)));
    } catch (error) {
      sayBefore();
      throw error;
    }
  }
  return sayVerdict(invocation, target, found);
};
