// What the words of a command say about writer and chip: port, part, rate, registers. Everything wrong is said at once.
import { findPart } from '../chip/chip-table.js';
import type { Part } from '../chip/part.js';
import { ToolError, ToolErrors } from '../ground/errors.js';
import { type ChosenPort, choosePort, seatedPart } from '../task/port-choice.js';
import type { Target } from '../task/session.js';
import { type Invocation, type OptionValues, textOption } from './command.js';
import { numberOption } from './values.js';
import type { World } from './world.js';

/** --port, else ROMKILN_PORT, else the only port there is. */
export const portOf = ({ world, options }: Pick<Invocation, 'world' | 'options'>): Promise<ChosenPort> =>
  choosePort(world, textOption(options, 'port') ?? (world.environment.ROMKILN_PORT || null));

/** The part named by --chip or ROMKILN_CHIP, else null. */
export function namedPart(world: World, options: OptionValues): Part | null {
  const name = textOption(options, 'chip') ?? world.environment.ROMKILN_CHIP;
  return name ? findPart(name) : null;
}

/** Slower than any writer offers, and faster than any adapter runs, is a slip of the pen. */
export const rateOf = (options: OptionValues): number | null => numberOption(options, 'rate', '--rate', 300, 4_000_000);

const registersOf = (options: OptionValues): number | null => numberOption(options, 'registers', '--registers', 1, 3);

/** A plan often names a family; a bench knows which member is seated, and its figures are the truer ones. */
const planned = (planPart: Part | null, seated: Part | null): Part | null =>
  planPart === null || (seated !== null && planPart.members?.includes(seated.name)) ? seated : planPart;

/**
 * The target, and whatever `also` reads with the part at hand (null where the part is not known). Throws everything that
 * is wrong together, before a port is opened.
 */
export async function prepare<Also>(
  invocation: Invocation,
  planPart: Part | null,
  also: (part: Part | null) => Also | Promise<Also>,
): Promise<Target & { readonly also: Also }> {
  const { world, options, command } = invocation;
  const wrong: ToolError[] = [];
  const collect = async <Value>(read: () => Value | Promise<Value>): Promise<Value | null> => {
    try {
      return await read();
    } catch (error) {
      if (error instanceof ToolError) wrong.push(error);
      else if (error instanceof ToolErrors) wrong.push(...error.errors);
      else throw error;
      return null;
    }
  };
  const rate = await collect(() => rateOf(options));
  const registers = await collect(() => registersOf(options));
  const port = await collect(() => portOf(invocation));
  const wrongBefore = wrong.length;
  const named = await collect(() => namedPart(world, options));
  const seated = port && !named ? await collect(() => seatedPart(world, port)) : null;
  const part = named ?? planned(planPart, seated);
  // The bench that was not named would know its part.
  const isBenchUnnamed = wrong.some((error) => ToolError.is(error, 'cli.no-bench-file'));
  if (part === null && wrong.length === wrongBefore && !isBenchUnnamed) {
    const why = 'the writer cannot see which part is in its socket.';
    wrong.push(new ToolError('cli.missing-option', { command, option: '--chip <part>', why }));
  }
  const found = await collect(() => also(part));
  if (wrong.length > 0) throw new ToolErrors(wrong);
  return { part: part!, port: port!, rate, registers, also: found! };
}
