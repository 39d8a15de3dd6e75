// Promises about the chip that its cells alone do not show: wear, and write protection.
import type { Broken, Judged, Wanted } from './promises.js';

/** Promise 7: who did not ask for write protection does not get it. */
export function noCodesUnasked({ end, troubles }: Judged): Broken[] {
  const { step, argv, chipBefore, chipAfter } = end;
  // Loads that go to other cells than were meant may be a code by chance.
  if (!chipBefore || !chipAfter || troubles.some((t) => t.at === 'wires')) return [];
  const asked = ['protect', 'rig', 'conform'].includes(step.command) || argv.includes('--protected');
  return asked || chipBefore.isProtected || !chipAfter.isProtected
    ? []
    : [{ promise: 7, text: `${step.command} protected the chip` }];
}

/** Promise 8: where nothing goes wrong around it, what is right already is not written again. */
export function noWearInVain({ scenario, end, troubles }: Judged, wanted: Wanted): Broken[] {
  const { step, before, chipBefore, chipAfter } = end;
  const isCalm = troubles.every((t) => t.at === 'host') && scenario.said === scenario.seated;
  if (!chipBefore || !chipAfter || !isCalm || !['burn', 'erase', 'restore'].includes(step.command)) return [];
  const page = scenario.seated.pageBytes.value;
  const changes = new Set<number>();
  wanted.defined.forEach((defined, cell) => {
    if (defined === 1 && before[cell] !== wanted.bytes[cell]) changes.add(Math.floor(cell / page));
  });
  const worn = chipAfter.wear.findIndex(
    (count, cell) => count !== chipBefore.wear[cell] && (step.dryRun || !changes.has(Math.floor(cell / page))),
  );
  return worn < 0 ? [] : [{ promise: 8, text: `cell ${worn} was written, and nothing in its page had to change` }];
}
