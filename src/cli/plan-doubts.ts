// What build and burn say of a plan that check has warnings about: how many, and how to see them.
import { printable } from '../ground/byte-text.js';
import { countOf } from '../ground/quantity.js';
import type { Plan } from '../plan/plan.js';
import type { World } from './world.js';

/** Tells a person, and gives the count. */
export async function tellDoubts(world: World, path: string, plan: Plan): Promise<number> {
  const { checkPlan } = await import('../plan/plan.js');
  const { length } = checkPlan(plan);
  if (length > 0) {
    const them = length === 1 ? 'it' : 'them';
    world.stderr.write(
      `${printable(path)}: check has ${countOf(length, 'warning')}; romkiln check ${printable(path)} shows ${them}.\n`,
    );
  }
  return length;
}
