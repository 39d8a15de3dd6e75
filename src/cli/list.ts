// romkiln list: a plan's table in the builder's words.
import { listText } from '../report/list-text.js';
import { type Execute, flagOption, textOption } from './command.js';
import { loadPlan } from './source.js';

export const execute: Execute = async ({ world, operands, options }) => {
  const plan = await loadPlan(world, operands[0]!);
  const { listPlan, romOf } = await import('../plan/plan.js');
  const rom = textOption(options, 'rom');
  const rows = rom === null ? listPlan(plan) : romOf(plan, rom).table.list();
  world.stdout.write(
    flagOption(options, 'json') ? `${JSON.stringify({ command: 'list', plan: plan.name, rows })}\n` : listText(rows),
  );
  return 0;
};
