// romkiln protect and unprotect: software data protection switched on or off. A chip that does not know the codes, or gets
// them at other addresses, takes them as data: so the whole chip is kept before, and compared afterwards.
import { ToolError } from '../ground/errors.js';
import { exit } from '../ground/exit.js';
import { imageOfBytes } from '../image/image.js';
import { wholeRange } from '../image/range.js';
import { dump, verify } from '../job/verify.js';
import { rangesText } from '../report/burn-text.js';
import { differencesFacts } from '../report/difference-facts.js';
import { differenceText } from '../report/difference-text.js';
import { keepOf } from './book-keeping.js';
import { type Execute, flagOption, textOption } from './command.js';
import { sayErrors } from './error-text.js';
import { prepare, withChip } from './session.js';

export const execute: Execute = async (invocation) => {
  const { world, options, command } = invocation;
  const target = await prepare(invocation, null, (part) => {
    if (part && !part.protection.value) throw new ToolError('writer.no-protection', { chip: part.name });
  });
  return withChip(invocation, target, {}, async ({ writer, part, port, progress }) => {
    const range = wholeRange(part.cells);
    const reading = (label: string) => ({
      range,
      signal: world.interrupt,
      onRead: (done: number, total: number) => progress.show(label, done, total),
    });
    const { image } = await dump(writer, part, { ...reading('reading what is there'), passes: 1 });
    const kept = keepOf(world).store(
      {
        time: world.wallTime().toISOString(),
        chip: part.name,
        label: textOption(options, 'label'),
        port: port.path,
        image: `the codes of ${command}`,
      },
      [{ from: 0, bytes: image.bytes }],
    );
    const on = command === 'protect';
    const before = imageOfBytes('before', image.bytes);
    const sendAndCompare = async () => {
      await (on ? writer.protect() : writer.unprotect());
      return verify(writer, part, before, reading('comparing'));
    };
    const { same, difference } = await sendAndCompare().catch((error: unknown) => {
      progress.end();
      const cells = rangesText([range], part.cells);
      sayErrors(new ToolError('job.in-doubt', { cells, keptId: kept.id }), world, { json: false, command });
      throw error;
    });
    progress.end();
    if (flagOption(options, 'json'))
      world.stdout.write(
        `${JSON.stringify({ command, chip: part.name, sent: true, unchanged: same, kept: kept.id, differences: differencesFacts(difference) })}\n`,
      );
    else if (same)
      world.stdout.write(
        `The codes that switch protection ${on ? 'on' : 'off'} were sent to ${part.name}, and no byte changed. The chip does not tell its state; ${
          on ? 'a burn without --protected will now be refused' : 'the next burn shows whether it takes'
        }.\n`,
      );
    else world.stdout.write(differenceText(difference, { cells: part.cells }));
    if (same) return exit.done;
    const error = new ToolError('job.codes-stored', { chip: part.name, bytes: difference.bytes, keptId: kept.id });
    return sayErrors(error, world, { json: false, command });
  });
};
