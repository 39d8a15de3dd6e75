// What only reads a chip: verify, blank check and dump, each in one conversation, with its line in the book.
import { exit, worstExit } from '../ground/exit.js';
import type { Image } from '../image/image.js';
import type { Range } from '../image/range.js';
import { enterJob } from '../job/recorded-write.js';
import { blankCheck, type Dumped, dump, type Verified, verify } from '../job/verify.js';
import { type Errand, jobOf, recordsOf } from './records.js';
import { type Target, withChip } from './session.js';
import { type Surroundings, shown } from './surroundings.js';

export const verifyChip = (
  around: Surroundings,
  target: Target,
  { image, range, ...errand }: Errand & { readonly image: Image; readonly range: Range },
): Promise<Verified> =>
  withChip(around, target, {}, async (session) => {
    const verified = await verify(session.writer, session.part, image, { range, ...shown(around, 'reading-back') });
    const { same, difference } = verified;
    enterJob(recordsOf(around), jobOf(errand, session, image), {
      cycles: [],
      outcome: same ? { kind: 'same' } : { kind: 'differs', bytes: difference.bytes },
      exit: same ? exit.done : exit.differs,
    });
    return verified;
  });

/** Leaves no line in the book: it tells nothing that a dump would not. */
export const checkBlank = (around: Surroundings, target: Target, range: Range): Promise<Verified> =>
  withChip(around, target, {}, ({ writer, part }) => blankCheck(writer, part, { range, ...shown(around, 'reading') }));

export interface DumpTask extends Errand {
  readonly range: Range;
  readonly passes: number;
  /** Where the bytes go, for the book, and what puts them there. */
  readonly file: string;
  store(image: Image): void;
}

/** Reads also what is in doubt, which is told; then the exit is that of the doubt. */
export const dumpChip = (
  around: Surroundings,
  target: Target,
  { range, passes, file, store, ...errand }: DumpTask,
): Promise<Dumped & { readonly exit: number }> =>
  withChip(around, target, { presence: 'told' }, async (session) => {
    const dumped = await dump(session.writer, session.part, { range, passes, ...shown(around, 'reading') });
    store(dumped.image);
    const { doubt } = session;
    const ended = worstExit([doubt?.exit ?? exit.done, dumped.unsteady.length > 0 ? exit.differs : exit.done]);
    enterJob(recordsOf(around), jobOf(errand, session, dumped.image), {
      cycles: [],
      outcome: { kind: 'dumped', file, doubtful: doubt !== null },
      exit: ended,
    });
    return { ...dumped, exit: ended };
  });
