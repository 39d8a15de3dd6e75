// romkiln verify: every defined byte of an image read back from the chip and compared.
import { exit } from '../ground/exit.js';
import { enterJob } from '../job/recorded-write.js';
import { verify } from '../job/verify.js';
import { notProvenText } from '../report/burn-text.js';
import { differencesFacts } from '../report/difference-facts.js';
import { comparedText, differenceText } from '../report/difference-text.js';
import { jobOf, recordsOf } from './book-keeping.js';
import { type Execute, flagOption } from './command.js';
import { withChip } from './session.js';
import { oneSourceAndTarget } from './source-and-target.js';

export const execute: Execute = async (invocation) => {
  const { world, options, command } = invocation;
  const target = await oneSourceAndTarget(invocation);
  const { image, describe, range } = target.also;
  return withChip(invocation, target, {}, async (session) => {
    const { same, difference } = await verify(session.writer, session.part, image, {
      range,
      signal: world.interrupt,
      onRead: (done, total) => session.progress.show('reading back', done, total),
    });
    session.progress.end();
    const result = same ? exit.done : exit.differs;
    enterJob(recordsOf(invocation, session), jobOf(invocation, session, image), {
      cycles: [],
      outcome: same ? { kind: 'same' } : { kind: 'differs', bytes: difference.bytes },
      exit: result,
    });
    if (flagOption(options, 'json')) {
      const facts = {
        chip: session.part.name,
        image: image.name,
        port: session.port.path,
        proven: { readBack: same, wiring: false },
      };
      world.stdout.write(`${JSON.stringify({ command, same, ...facts, differences: differencesFacts(difference) })}\n`);
    } else if (same) world.stdout.write(`Verified: ${comparedText(difference)} All equal.\n${notProvenText}`);
    else {
      const text = differenceText(difference, { cells: session.part.cells, ...(describe && { describe }) });
      world.stdout.write(`Not the same.\n${text}${comparedText(difference)}\n`);
    }
    return result;
  });
};
