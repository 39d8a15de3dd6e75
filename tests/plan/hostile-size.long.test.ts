// YAML that is nothing but one thing, as long as it may be: refused with an error, never with a crash or a hang.
import { expect, it } from 'vitest';
import { ToolErrors } from '../../src/ground/errors.js';
import { readPlan } from '../../src/plan/plan.js';

/** The errors that reading gives; fails where it gives none or throws anything else. */
function refused(text: string): string[] {
  try {
    readPlan(text, 'hostile.yaml');
  } catch (error) {
    if (!(error instanceof ToolErrors)) throw error;
    return error.errors.map((e) => e.message);
  }
  throw new Error('the text was taken for a plan');
}

const large = 128 * 1024;

it.each([
  ['nothing but commas', `[${','.repeat(large - 10)}`, /goes on for too long|not YAML/],
  ['nothing but colons', ': :\n'.repeat(large / 4 - 1), /goes on for too long|not YAML/],
  ['nothing but tags', '!a '.repeat(large / 3), /goes on for too long|not YAML/],
  ['nothing but quotes', '"\n'.repeat(large / 2 - 1), /goes on for too long|not YAML/],
  ['very many keys', Array.from({ length: 10_000 }, (_, i) => `k${i}: 1`).join('\n'), /not known here|goes on/],
])('when it is %s then it is refused', (_, text, message) => {
  expect(refused(text).join('\n')).toMatch(message);
});
