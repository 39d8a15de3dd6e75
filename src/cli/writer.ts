// romkiln writer: who the writer is, its limits, and its address registers.
import { hex } from '../ground/byte-text.js';
import { withWriter } from '../task/session.js';
import { type Execute, flagOption } from './command.js';
import { faceOf } from './face.js';
import { namedPart, portOf, rateOf } from './target.js';

export const execute: Execute = async (invocation) => {
  const { world, options, command } = invocation;
  const line = { rate: rateOf(options), port: await portOf(invocation) };
  return withWriter(faceOf(invocation), line, namedPart(world, options), async ({ writer, port }) => {
    const registers = await writer.registers();
    const { introduction: it } = writer;
    if (flagOption(options, 'json')) {
      world.stdout.write(`${JSON.stringify({ command, port: port.path, ...it, baud: writer.baud, registers })}\n`);
      return 0;
    }
    const counted =
      registers === 0 ? 'not counted, no chain return seen' : `${registers}, so ${registers * 8} address lines`;
    world.stdout.write(
      [
        `${it.build} on ${port.path}, protocol version ${it.version}, started as ${hex(it.nonce, 4)}`,
        `  line: ${writer.baud} baud now; offers ${it.rates.join(', ')}`,
        `  blocks: ${it.store} bytes of store, at most ${it.slots} outstanding; ${it.cells} cells in one block without page mode`,
        `  address registers: ${counted}`,
        '',
      ].join('\n'),
    );
    return 0;
  });
};
