// How a job ended, as a fact: what the book stores and what everybody who tells of a job reads.
import * as v from 'valibot';
import { isPageList } from './page-list.js';

/** A whole number that counts something. */
export const countSchema = v.pipe(v.number(), v.safeInteger(), v.minValue(0));
export const pagesSchema = v.pipe(v.string(), v.check(isPageList));

export const outcomeSchema = v.variant('kind', [
  /** A burn. `pages`: those of which the image said anything in the range asked for. */
  v.object({ kind: v.literal('verified'), pages: pagesSchema }),
  v.object({ kind: v.literal('not-verified') }),
  v.object({ kind: v.literal('interrupted') }),
  /** Any writing that lost its writer, or that was ended from outside. `putBack`: the cells read as before all the same. */
  v.object({ kind: v.literal('broken-off'), putBack: v.boolean() }),
  /** A test that wrote, and put the cells back. `sound`: it found nothing wrong. */
  v.object({ kind: v.literal('put-back'), sound: v.boolean() }),
  v.object({ kind: v.literal('not-put-back'), cells: countSchema }),
  /** The chip took none of a test's writes. */
  v.object({ kind: v.literal('refused') }),
  /** A test that found out that it must not write. */
  v.object({ kind: v.literal('nothing-written') }),
  /** Protection codes; `changed` bytes read otherwise after them. */
  v.object({ kind: v.literal('codes-sent'), changed: countSchema }),
  /** A verify. */
  v.object({ kind: v.literal('same') }),
  v.object({ kind: v.literal('differs'), bytes: countSchema }),
  /** `doubtful`: not all of it came from a chip. */
  v.object({ kind: v.literal('dumped'), file: v.string(), doubtful: v.boolean() }),
]);

export type Outcome = v.InferOutput<typeof outcomeSchema>;
export type OutcomeKind = Outcome['kind'];
