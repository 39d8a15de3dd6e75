// romkiln rig: the writer's own wiring, tested with an empty socket, with a scratch chip, or with a reference chip.
import { ToolError } from '../ground/errors.js';
import { exit } from '../ground/exit.js';
import type { Image } from '../image/image.js';
import { tryEmptySocket, tryScratchChip } from '../job/rig.js';
import { rigText } from '../report/rig-text.js';
import { addressBusTest, dataBusTest, pageWitnessBytes } from '../suspect/bus-tests.js';
import { judgeRig, type RigObservations } from '../suspect/judge-rig.js';
import { keepOf } from './book-keeping.js';
import { type Execute, flagOption, type Invocation, textOption } from './command.js';
import { prepare, type Target, withChip } from './session.js';
import { loadSource } from './source.js';

type Seen = Partial<Omit<RigObservations, 'part'>>;

interface Stage {
  /** What must be in the socket. */
  readonly socket: string;
  readonly warning: string;
  try(invocation: Invocation, target: Target): Promise<Seen>;
}

const emptySocket: Stage = {
  socket: 'nothing',
  warning: '',
  try: (invocation, target) =>
    withChip(invocation, target, { presence: 'told' }, ({ writer }) => tryEmptySocket(writer)),
};

const scratchChip: Stage = {
  socket: 'a scratch chip',
  warning: 'Its cells will be written; they are read into the keep first and put back at the end. ',
  try: (invocation, target) =>
    withChip(invocation, target, { presence: 'told' }, async ({ writer, part, port, progress }) => {
      const before = await writer.read(0, part.cells, (done) =>
        progress.show('reading what is there', done, part.cells),
      );
      const { id } = keepOf(invocation.world).store(
        {
          time: invocation.world.wallTime().toISOString(),
          chip: part.name,
          label: null,
          port: port.path,
          image: 'rig test',
        },
        [{ from: 0, bytes: before }],
      );
      const { putBack, refusesWrites, ...seen } = await tryScratchChip(writer, part, before, {
        dataBus: dataBusTest(),
        addressBus: addressBusTest(part.addressLines),
        witness: pageWitnessBytes,
      });
      progress.end();
      if (refusesWrites) throw new ToolError('job.scratch-refuses', { chip: part.name });
      if (!putBack) progress.say(`The chip does not read as it did before; its old bytes are in the keep under ${id}.`);
      return seen;
    }),
};

const referenceChip = (wanted: Image): Stage => ({
  socket: `the reference chip that holds ${wanted.name}`,
  warning: 'It is only read. ',
  try: (invocation, target) =>
    withChip(invocation, target, { presence: 'told' }, async ({ writer, part, progress }) => {
      const readback = await writer.read(0, part.cells, (done) => progress.show('reading', done, part.cells));
      return { reference: { wanted, readback } };
    }),
});

/** Asks for what must be in the socket; null when the person stopped. */
async function ready({ world, options }: Invocation, stage: Stage): Promise<boolean> {
  if (flagOption(options, 'yes')) return true;
  const answer = await world.ask(
    `Power off, ${stage.socket} in the socket, power on. ${stage.warning}Type yes to go on: `,
  );
  return answer !== null && /^y(es)?$/i.test(answer.trim()) && !world.interrupt.aborted;
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
  let seen: Seen = {};
  for (const stage of stages) {
    if (!(await ready(invocation, stage))) {
      world.stderr.write('Stopped; nothing was done.\n');
      return exit.interrupted;
    }
    seen = { ...seen, ...(await stage.try(invocation, target)) };
  }
  const verdict = judgeRig({ part: target.part, ...seen });
  const sound = verdict.sound && (verdict.reference === null || verdict.reference.healthy);
  world.stdout.write(
    flagOption(options, 'json') ? `${JSON.stringify({ command, ...verdict, sound })}\n` : rigText(verdict, sound),
  );
  return sound ? exit.done : exit.differs;
};
