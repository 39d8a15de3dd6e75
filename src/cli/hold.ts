// romkiln hold: an address and the control lines held still until Enter or Ctrl-C, to be followed with a meter.
import { hex } from '../ground/byte-text.js';
import { exit } from '../ground/exit.js';
import { addressText } from '../report/quantity.js';
import { holdLines } from '../task/hold.js';
import { type Execute, flagOption, type OptionValues, textOption } from './command.js';
import { faceOf } from './face.js';
import { namedPart, portOf } from './target.js';
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

export const execute: Execute = async (invocation) => {
  const { world, operands, options, command } = invocation;
  const address = wholeNumber('hold', operands[0]!, 0, 0xffffff);
  const control = controlOf(options);
  const data = dataOf(options);
  const place = { port: await portOf(invocation), part: namedPart(world, options) };
  const ended = await holdLines(faceOf(invocation), place, { address, control, data }, async ({ bus, cells }) => {
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
    return end === 'interrupted' ? exit.interrupted : exit.done;
  });
  if (!flagOption(options, 'json')) world.stdout.write('Let go: /CE, /OE and /WE high, data released, address 0.\n');
  return ended;
};
