// romkiln hold: an address and the control lines held still until Enter or Ctrl-C, to be followed with a meter.
import { hex } from '../ground/byte-text.js';
import { ToolError } from '../ground/errors.js';
import { exit } from '../ground/exit.js';
import { greetingBaud } from '../protocol/limits.js';
import { addressText } from '../report/quantity.js';
import type { Writer } from '../writer/writer.js';
import { type Execute, flagOption, type OptionValues, textOption } from './command.js';
import { linesOfRegister, withWriter } from './session.js';
import { choiceOption, wholeNumber } from './values.js';

const levels = ['high', 'low'] as const;
const bitOf = { ce: 1, oe: 2, we: 4 } as const;

/** The `control` field of the request: one bit a line, 1 = high. */
const controlOf = (options: OptionValues): number =>
  Object.entries(bitOf).reduce(
    (sum, [name, bit]) => (choiceOption(options, name, `--${name}`, levels) === 'low' ? sum : sum | bit),
    0,
  );

function dataOf(options: OptionValues): number | 'released' | 'pulled' {
  const text = textOption(options, 'data');
  if (text === null) return 'released';
  return text === 'pulled' ? 'pulled' : wholeNumber('--data', /^[0-9a-f]{2}$/i.test(text) ? `0x${text}` : text, 0, 255);
}

/** What the writer has no lines for would be cut, and a meter would find other levels than those that are said. */
async function checkReached(writer: Writer, address: number): Promise<void> {
  const registers = await writer.registers();
  // No chain return: nobody knows how many there are.
  if (registers === 0) return;
  const cells = 2 ** (registers * linesOfRegister);
  if (address < cells) return;
  const largest = addressText(cells - 1, cells);
  throw new ToolError('cli.hold-beyond', { address: addressText(address, cells), registers, largest });
}

export const execute: Execute = async (invocation) => {
  const { world, operands, options, command } = invocation;
  const address = wholeNumber('hold', operands[0]!, 0, 0xffffff);
  const control = controlOf(options);
  const data = dataOf(options);
  // A writer that hears nothing for a while returns to the greeting rate, so a long hold stays there from the beginning.
  return withWriter(
    invocation,
    async ({ writer, bench }) => {
      await checkReached(writer, address);
      // Without a chip that is known, the lines of the two registers that every writer has.
      const cells = Math.max(bench?.state.part.cells ?? 0x10000, 2 ** address.toString(2).length);
      const bus = await writer.hold(address, control, data);
      const line = (name: keyof typeof bitOf): string =>
        `/${name.toUpperCase()} ${control & bitOf[name] ? 'high' : 'low'}`;
      if (flagOption(options, 'json')) {
        world.stdout.write(`${JSON.stringify({ command, address, control, data, bus })}\n`);
        return exit.done;
      }
      world.stdout.write(
        `Held: address ${addressText(address, cells)} (${address.toString(2).padStart(Math.log2(cells), '0')}), ${line('ce')}, ${line('oe')}, ${line('we')}; the data lines read ${hex(bus)}.\n`,
      );
      const enter = world.ask('Press Enter to let go. ');
      const interrupted = new Promise<'interrupted'>((settle) => {
        if (world.interrupt.aborted) settle('interrupted');
        world.interrupt.addEventListener('abort', () => settle('interrupted'), { once: true });
      });
      const end = await Promise.race([enter, interrupted]);
      await writer.park();
      world.stdout.write('Let go: /CE, /OE and /WE high, data released, address 0.\n');
      return end === 'interrupted' ? exit.interrupted : exit.done;
    },
    greetingBaud,
  );
};
