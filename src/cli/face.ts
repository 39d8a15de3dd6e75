// The face of a task on a terminal: what it tells goes to the outputs as words, how far it is becomes a progress line.
import { burnPlanText } from '../report/burn-text.js';
import { ruleText } from '../report/conformance-text.js';
import {
  maybeProtectedText,
  newBenchText,
  putBackText,
  registersCountedText,
  registersUnknownText,
  violationsText,
  writerEventText,
} from '../report/session-text.js';
import type { Errand } from '../task/records.js';
import type { Stage, Surroundings, Telling } from '../task/surroundings.js';
import { flagOption, type Invocation, textOption } from './command.js';
import { dataFiles } from './data-files.js';
import { sayErrors } from './error-text.js';
import { makeProgress, type Progress } from './progress.js';

const stageTexts: Readonly<Record<Stage, string>> = {
  reading: 'reading',
  'reading-before': 'reading what is there',
  'reading-twice': 'reading what is there, twice',
  writing: 'writing',
  'reading-back': 'reading back',
  comparing: 'comparing',
  'comparing-before': 'comparing with what was there',
  rules: 'rules',
};

/** How the work goes; --quiet is spared it. Null where a telling is something else. */
function noteText(telling: Telling): string | null {
  switch (telling.kind) {
    case 'writer':
      return writerEventText(telling.event);
    case 'new-bench':
      return newBenchText(telling.part, telling.path);
    case 'registers-unknown':
      return registersUnknownText;
    case 'registers-counted':
      return registersCountedText(telling.counted);
    case 'violations':
      return violationsText(telling.count, telling.rules);
    default:
      return null;
  }
}

/** What must be known whatever the options. Null where a telling is something else. */
function warningText(telling: Telling): string | null {
  switch (telling.kind) {
    case 'doubt':
      return `romkiln: ${telling.error.message}\n  What follows is not all the content of a chip.  [${telling.error.code}]`;
    case 'put-back':
      return putBackText;
    case 'maybe-protected':
      return maybeProtectedText;
    default:
      return null;
  }
}

/** Results that come while the task runs; with --json standard output gets one object, at the end. */
function resultText(telling: Telling): string | null {
  if (telling.kind === 'burn-plan') return burnPlanText(telling, telling.plan);
  return telling.kind === 'rule' ? ruleText(telling.result) : null;
}

function tell({ world, options, command }: Invocation, progress: Progress, telling: Telling): void {
  const note = noteText(telling);
  if (note !== null) {
    progress.say(note);
    return;
  }
  progress.end();
  const warning = warningText(telling);
  const result = resultText(telling);
  if (telling.kind === 'aside') sayErrors(telling.error, world, { json: false, command });
  else if (warning !== null) world.stderr.write(`${warning}\n`);
  else if (result !== null && !flagOption(options, 'json')) world.stdout.write(result);
}

/** The surroundings of a task that a command runs. */
export function faceOf(invocation: Invocation): Surroundings {
  const { world, options } = invocation;
  const progress = makeProgress(world, flagOption(options, 'quiet'));
  const { files, dataFolder, interrupt } = world;
  return {
    ...{ files, dataFolder, interrupt, dataFiles: dataFiles(files) },
    openSerial: (...words) => world.openSerial(...words),
    lock: (path) => world.lock(path),
    listPorts: () => world.listPorts(),
    firmwareHex: () => world.firmwareHex(),
    wallTime: () => world.wallTime(),
    tell: (telling) => tell(invocation, progress, telling),
    progress: (stage, done, total) => progress.show(stageTexts[stage], done, total),
    progressEnds: () => progress.end(),
  };
}

export const errandOf = ({ command, options }: Invocation): Errand => ({
  command,
  label: textOption(options, 'label'),
});
