// romkiln rig: the writer's own wiring, tested with an empty socket, with a scratch chip, or with a reference chip.
import { ToolError } from '../ground/errors.js';
import { exit, worstExit } from '../ground/exit.js';
import type { Image } from '../image/image.js';
import { tryEmptySocket, trySeatedChip } from '../job/rig.js';
import { rigText } from '../report/rig-text.js';
import { rigWords } from '../report/rig-words.js';
import { drivenBytes } from '../suspect/bus-tests.js';
import { judgeRig, type RigObservations } from '../suspect/judge-rig.js';
import { seatedChipRemark } from './chip-remark.js';
import { type Execute, flagOption, type Invocation, textOption } from './command.js';
import { scratchTests } from './rig-scratch.js';
import { prepare, type Target, withChip } from './session.js';
import { loadSource } from './source.js';

export type Seen = Partial<Omit<RigObservations, 'part'>>;

/** What a stage found: for the judgement, and beside it. */
export interface Found {
  readonly seen: Seen;
  readonly exit?: number;
  /** What became of the chip, in sentences and for programs. */
  readonly text?: string;
  readonly facts?: object;
}

interface Stage {
  readonly option: string;
  /** What the person has to do, and what will be done then. */
  readonly prompt: string;
  try(invocation: Invocation, target: Target): Promise<Found>;
}

const emptySocket: Stage = {
  option: '--empty',
  prompt: 'Power off, take the chip out so that the socket is empty, power on.',
  try: (invocation, target) =>
    withChip(invocation, target, { presence: 'unasked' }, async ({ writer }) => ({
      seen: await tryEmptySocket(writer, drivenBytes),
    })),
};

/** Write cycles are waited out: a data line that is in doubt is no witness for their end. */
const withoutPolling = ({ part, port }: Target): Target => ({
  part: { ...part, polling: { ...part.polling, value: 'limit' } },
  port,
});

const scratchChip: Stage = {
  option: '--scratch',
  prompt:
    'Power off, seat a scratch chip, power on. Its cells will be written; they are read into the keep first and put back at the end.',
  try: (invocation, target) =>
    withChip(invocation, withoutPolling(target), { presence: 'unasked' }, (session) =>
      scratchTests(invocation, session),
    ),
};

const referenceChip = (wanted: Image): Stage => ({
  option: '--reference',
  prompt: `Power off, seat the reference chip that holds ${wanted.name}, power on. It is only read.`,
  try: (invocation, target) =>
    withChip(invocation, target, { presence: 'unasked' }, async ({ writer, part, progress }) => {
      const { carriesAll: _, ...lines } = await trySeatedChip(writer, drivenBytes);
      const readback = await writer.read(0, part.cells, (done) => progress.show('reading', done, part.cells), {
        signal: invocation.world.interrupt,
      });
      return { seen: { ...lines, reference: { wanted, readback } } };
    }),
});

/** Asks for what must be in the socket; false when the person stopped. */
async function isReady({ world, options }: Invocation, { prompt }: Stage): Promise<boolean> {
  if (flagOption(options, 'yes')) return true;
  const answer = await world.ask(`${prompt} Type yes to go on: `);
  return answer !== null && /^y(es)?$/i.test(answer.trim()) && !world.interrupt.aborted;
}

/** Judges what the stages found so far and says it. Returns the exit number. */
function sayVerdict({ world, options, command }: Invocation, { part }: Target, found: readonly Found[]): number {
  const verdict = judgeRig(Object.assign({ part }, ...found.map(({ seen }) => seen)));
  const sound = verdict.sound && (verdict.reference === null || verdict.reference.healthy);
  const facts: object = Object.assign({}, ...found.map((one) => one.facts));
  const json = flagOption(options, 'json');
  world.stdout.write(
    json
      ? `${JSON.stringify({ command, ...rigWords(verdict), sound, ...facts })}\n`
      : `${rigText(verdict, sound)}${found.map((one) => one.text ?? '').join('')}`,
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
      world.stderr.write(`Stopped before ${stage.option}; ${done.join(' and ') || 'nothing'} was done.\n`);
      return exit.interrupted;
    }
    try {
      found.push(await stage.try(invocation, target));
    } catch (error) {
      sayBefore();
      throw error;
    }
  }
  return sayVerdict(invocation, target, found);
};
