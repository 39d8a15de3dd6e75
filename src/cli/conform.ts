// romkiln conform: a writer held to firmware-protocol.md, rule by rule.
import { runConformance } from '../conform/conformance.js';
import { exit } from '../ground/exit.js';
import { firmwareLimits, greetingBaud } from '../protocol/limits.js';
import { conformanceText, ruleText } from '../report/conformance-text.js';
import { type Execute, flagOption } from './command.js';
import { choosePort, namedPart, openChosen, seatedPart } from './open-port.js';
import { makeProgress } from './progress.js';

export const execute: Execute = async ({ world, options, command }) => {
  const progress = makeProgress(world, flagOption(options, 'quiet'));
  const json = flagOption(options, 'json');
  const port = await choosePort(world, options);
  const part = namedPart(world, options) ?? (await seatedPart(world, port));
  const { link } = await openChosen(world, port, part, { baud: greetingBaud, lineMax: firmwareLimits.line }, (text) =>
    progress.say(text),
  );
  try {
    const report = await runConformance(
      link,
      { scratch: flagOption(options, 'scratch'), ...(part && { chip: part }) },
      (result, index, count) => {
        progress.show('rules', index + 1, count);
        if (json) return;
        progress.end();
        world.stdout.write(ruleText(result));
      },
    );
    progress.end();
    world.stdout.write(json ? `${JSON.stringify({ command, port: port.path, ...report })}\n` : conformanceText(report));
    return report.conforms && report.cellsPutBack !== false ? exit.done : exit.differs;
  } finally {
    progress.end();
    await link.close();
  }
};
