// romkiln check: what is wrong or doubtful in a plan, with positions, before anything is burned.
import { exit } from '../ground/exit.js';
import { findingsText } from '../report/findings-text.js';
import { type Execute, flagOption } from './command.js';
import { planContent } from './source.js';

export const execute: Execute = async ({ world, operands, options }) => {
  const path = operands[0]!;
  // Asked for first: it loads while a plan module runs in its own process.
  const plans = import('../plan/plan.js');
  const content = await planContent(world, path);
  const readFile = (name: string): Uint8Array => world.files.read(name);
  const { inspectPlan, inspectPlanObject } = await plans;
  const { findings } =
    'text' in content ? inspectPlan(content.text, path, readFile) : inspectPlanObject(content.value, path, readFile);
  const errors = findings.filter((f) => f.severity === 'error').length;
  const faulty = errors > 0 || (findings.length > 0 && flagOption(options, 'strict'));
  if (flagOption(options, 'json')) {
    const facts = findings.map(({ severity, code, message, why, line, column, where }) => ({
      severity,
      code,
      message,
      why,
      line,
      column,
      where,
    }));
    world.stdout.write(`${JSON.stringify({ command: 'check', plan: path, good: !faulty, findings: facts })}\n`);
  } else world.stdout.write(findingsText(path, findings));
  return faulty ? exit.differs : exit.done;
};
