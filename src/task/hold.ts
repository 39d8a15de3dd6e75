// An address and the control lines held still, until whoever follows them with a meter has enough.

import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import { greetingBaud } from '../protocol/limits.js';
import type { HeldData } from '../protocol/message.js';
import { addressText } from '../report/quantity.js';
import type { Writer } from '../writer/writer.js';
import type { ChosenPort } from './port-choice.js';
import { linesOfRegister, withWriter } from './session.js';
import type { Surroundings } from './surroundings.js';

export interface HeldLines {
  readonly address: number;
  /** The `control` field of the request: one bit a line, 1 = high. */
  readonly control: number;
  readonly data: HeldData;
}

/** The data lines as read, and the cells that address lines are counted for. */
export interface Held {
  readonly bus: number;
  readonly cells: number;
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

/** Holds them until `enough` settles, then parks them where it asks for that. */
export const holdLines = <End>(
  around: Surroundings,
  { port, part }: { readonly port: ChosenPort; readonly part: Part | null },
  lines: HeldLines,
  enough: (held: Held) => Promise<End>,
): Promise<End> =>
  // A writer that hears nothing for a while returns to the greeting rate, so a long hold stays there from the beginning.
  withWriter(around, { port, rate: greetingBaud }, part, async ({ writer, bench }) => {
    const { address, control, data } = lines;
    await checkReached(writer, address);
    // Without a chip that is known, the lines of the two registers that every writer has.
    const cells = Math.max(bench?.state.part.cells ?? 0x10000, 2 ** address.toString(2).length);
    const bus = await writer.hold(address, control, data);
    const end = await enough({ bus, cells });
    await writer.park();
    return end;
  });
