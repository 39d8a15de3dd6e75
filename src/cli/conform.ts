// romkiln conform: a writer held to firmware-protocol.md, rule by rule. With --scratch its chip is written: kept before, put back.
import { ToolError } from '../ground/errors.js';
import { exit, worstExit } from '../ground/exit.js';
import { conformanceText } from '../report/conformance-text.js';
import { tryRules, tryRulesOnScratch } from '../task/conformance.js';
import { seatedPart } from '../task/port-choice.js';
import { type Execute, flagOption } from './command.js';
import { errandOf, faceOf } from './face.js';
import { namedPart, portOf } from './target.js';

export const execute: Execute = async (invocation) => {
  const { world, options, command } = invocation;
  const port = await portOf(invocation);
  const part = namedPart(world, options) ?? (await seatedPart(world, port));
  const face = faceOf(invocation);
  const errand = { ...errandOf(invocation), discard: flagOption(options, 'discard') };
  const isScratch = flagOption(options, 'scratch');
  if (isScratch && part === null)
    throw new ToolError('cli.missing-option', {
      command,
      option: '--chip <part>',
      why: 'with --scratch it writes cells of a part that it must know.',
    });
  const report =
    isScratch && part !== null
      ? await tryRulesOnScratch(face, port, part, errand)
      : await tryRules(face, { port, part });
  world.stdout.write(
    flagOption(options, 'json')
      ? `${JSON.stringify({ command, port: port.path, ...report })}\n`
      : conformanceText(report),
  );
  return worstExit([
    report.interrupted ? exit.interrupted : exit.done,
    report.conforms && report.cellsPutBack !== false ? exit.done : exit.differs,
  ]);
};
