// Several writers at once: a set of ROMs, or one image several times, each on its own port; one failing does not harm the others.
import { BurnAttempt, closeBurns, type PreparedBurn, type SetBurn } from './burn-attempt.js';
import type { Invocation } from './command.js';

/**
 * Runs all at once; returns the worst exit. What can be found beforehand, a bench that is missing or an image that does
 * not fit, is found for all before the first byte is written to any.
 */
export async function burnParallel(invocation: Invocation, burns: readonly SetBurn[]): Promise<number> {
  const attempts = burns.map((burn) => new BurnAttempt(invocation, burn, true));
  const prepared = await Promise.all(attempts.map((attempt) => attempt.prepare()));
  const ready = prepared.filter((p): p is PreparedBurn => p !== null);
  if (ready.length === attempts.length)
    await Promise.all(attempts.map((attempt, index) => attempt.carryOut(ready[index]!)));
  return closeBurns(invocation, attempts);
}
