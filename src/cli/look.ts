// romkiln look: one address explained, or the addresses of some field values.
import { ToolError } from '../ground/errors.js';
import { countOf } from '../report/quantity.js';
import { type Execute, flagOption, textOption } from './command.js';
import { loadPlan } from './source.js';
import { wholeNumber } from './values.js';

/** Settings that leave fields open meet many addresses; so many are explained in full. */
const explainedMost = 4;

export const execute: Execute = async ({ world, operands, options }) => {
  const [path = '', ...words] = operands;
  const plan = await loadPlan(world, path);
  const { addressOf, lookAt, romOf, sayLooks } = await import('../plan/plan.js');
  const romName = textOption(options, 'rom');
  const roms = romName === null ? plan.roms : [romOf(plan, romName)];
  const bySetting = words.some((w) => w.includes('='));
  if (!bySetting && words.length !== 1)
    throw new ToolError('cli.bad-value', {
      option: 'look',
      value: words.join(' '),
      wanted: 'one address, or settings such as level=128',
    });
  const looks = roms.flatMap((rom) => {
    const addresses = bySetting ? addressOf(plan, rom, words) : [wholeNumber('look', words[0]!, 0, rom.chip.cells - 1)];
    return { rom, addresses, looks: addresses.slice(0, explainedMost).map((address) => lookAt(plan, rom, address)) };
  });
  if (flagOption(options, 'json')) {
    world.stdout.write(
      `${JSON.stringify({ command: 'look', roms: looks.map((l) => ({ rom: l.rom.name, addresses: l.addresses, looks: l.looks })) })}\n`,
    );
    return 0;
  }
  const all = looks.flatMap((l) => l.looks);
  if (all.length > 0) world.stdout.write(`${sayLooks(...all)}\n`);
  for (const { rom, addresses, looks: shown } of looks) {
    const more = addresses.length - shown.length;
    if (more === 0) continue;
    const where = roms.length > 1 ? ` of ${rom.name}` : '';
    world.stdout.write(
      `... and ${countOf(more, 'more address', 'more addresses')}${where}; name more fields to narrow it down.\n`,
    );
  }
  return 0;
};
