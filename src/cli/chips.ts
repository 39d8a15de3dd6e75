// romkiln chips: the chip table, or one part with the source of every figure.
import { findPart, parts } from '../chip/chip-table.js';
import { chipListText, chipText } from '../report/chip-text.js';
import { type Execute, flagOption } from './command.js';

export const execute: Execute = async ({ world, operands, options }) => {
  const name = operands[0];
  const json = flagOption(options, 'json');
  if (name !== undefined) {
    const part = findPart(name);
    world.stdout.write(json ? `${JSON.stringify({ command: 'chips', part })}\n` : chipText(part));
  } else {
    world.stdout.write(json ? `${JSON.stringify({ command: 'chips', parts })}\n` : chipListText(parts));
  }
  return 0;
};
