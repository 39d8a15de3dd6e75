// romkiln emulate: makes, shows, spoils and serves an emulated bench.
import { findPart } from '../chip/chip-table.js';
import { readBenchState, saveBenchState } from '../emulator/bench-file.js';
import { applyFault, type BenchState, describeBench, newBenchState } from '../emulator/bench-state.js';
import { faultDone, faultShapes, noneEffect } from '../emulator/chip-fault.js';
import { ToolError } from '../ground/errors.js';
import { seededRandom } from '../ground/random.js';
import { benchText, faultsDoneText } from '../report/bench-text.js';
import { type Execute, flagOption, type HelpTable, type Invocation, listOption, textOption } from './command.js';
import { serveBench } from './serve-bench.js';
import { microseconds, numberOption, wholeNumber } from './values.js';

const actions = ['new', 'show', 'fault', 'serve'] as const;

export const faultTable: HelpTable = {
  heading: ['fault, for example', 'what it does'],
  rows: [...Object.values(faultShapes).map(({ example, effect }) => [example, effect]), ['none', noneEffect]],
};

function contentsOf(invocation: Invocation, cells: number, seed: number): Uint8Array {
  const fill = textOption(invocation.options, 'fill') ?? '0xFF';
  if (fill === 'random') return seededRandom(seed).bytes(cells);
  const text = /^[0-9a-f]{2}$/i.test(fill) ? `0x${fill}` : fill;
  return new Uint8Array(cells).fill(wholeNumber('--fill', text, 0, 255));
}

function makeBench(invocation: Invocation): BenchState {
  const { options, world } = invocation;
  const name = textOption(options, 'chip') ?? world.environment.ROMKILN_CHIP;
  if (!name)
    throw new ToolError('cli.missing-option', {
      command: 'emulate new',
      option: '--chip <part>',
      why: 'a bench needs a chip in its socket.',
    });
  const part = findPart(name);
  const seed = numberOption(options, 'seed', '--seed', 0, 0xffffffff) ?? 1;
  const cycle = textOption(options, 'cycle');
  const delay = textOption(options, 'delay');
  const registers = numberOption(options, 'registers', '--registers', 2, 3);
  return newBenchState({
    part,
    seed,
    contents: contentsOf(invocation, part.cells, seed),
    faults: listOption(options, 'fault'),
    ...(cycle !== null && { cycleUs: microseconds('--cycle', cycle) }),
    ...(delay !== null && { answerDelayMs: microseconds('--delay', delay) / 1000 }),
    ...(registers !== null && { registers: registers as 2 | 3 }),
  });
}

function newBench(invocation: Invocation, path: string): BenchState {
  const state = makeBench(invocation);
  // A bench holds wear and faults that nobody could make again.
  if (invocation.world.files.readIfThere(path) !== null) throw new ToolError('cli.file-in-the-way', { path });
  return state;
}

/** `made`: the faults that were asked for just now. A decayed cell is none that lasts, so the bench alone would not tell. */
function show(invocation: Invocation, path: string, state: BenchState, made: readonly string[] = []): void {
  const bench = describeBench(state);
  const done = made.map((text) => faultDone(text, state.part.cells));
  const json = flagOption(invocation.options, 'json');
  invocation.world.stdout.write(
    json
      ? `${JSON.stringify({ command: 'emulate', file: path, ...(done.length > 0 && { done }), bench })}\n`
      : faultsDoneText(done) + benchText(path, bench),
  );
}

export const execute: Execute = async (invocation) => {
  const { world, operands, options } = invocation;
  const [word = '', path = '', ...rest] = operands;
  const action = actions.find((a) => a === word);
  if (action === undefined)
    throw new ToolError('cli.bad-value', { option: 'emulate', value: word, wanted: actions.join(', ') });
  const faults = listOption(options, 'fault');
  if (action === 'show') {
    show(invocation, path, readBenchState(world.files, path));
    return 0;
  }
  const asked = action === 'new' ? faults : [...rest, ...faults];
  if (action === 'fault' && asked.length === 0) {
    const usage = 'romkiln emulate fault <bench file> <fault...>';
    throw new ToolError('cli.missing-argument', { command: 'emulate fault', argument: 'fault', usage });
  }
  // A command that is at work on the bench would write over what is changed here.
  const unlock = await world.lock(path);
  try {
    if (action === 'serve') return await serveBench(invocation, path);
    const state =
      action === 'new' ? newBench(invocation, path) : asked.reduce(applyFault, readBenchState(world.files, path));
    saveBenchState(world.files, path, state);
    show(invocation, path, state, asked);
  } finally {
    await unlock();
  }
  return 0;
};
