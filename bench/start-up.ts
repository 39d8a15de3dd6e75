// How long the tool takes to be there: against node alone, in turn, medians.
import { inTurn, top, wallMsOfNode } from './fresh-process.js';
import { ratioRow, type Section } from './row.js';

const rounds = 31;

export function startUpSection(): Section {
  const romkiln = `${top}/bin/romkiln.cjs`;
  const ms = inTurn(rounds, {
    bare: () => wallMsOfNode(['-e', '0']),
    help: () => wallMsOfNode([romkiln, '--help']),
    chips: () => wallMsOfNode([romkiln, 'chips']),
    small: () => wallMsOfNode([romkiln, 'check', 'images/skerry-signals.yaml']),
    large: () => wallMsOfNode([romkiln, 'check', 'images/skerry-thermometer.yaml']),
  });
  const row = (work: string, found: number, most: number) =>
    ratioRow(work, `${ms.bare.toFixed(0)} ms`, `${found.toFixed(0)} ms`, found / ms.bare, most);
  return {
    heading: 'Start-up; limit: "node -e 0"',
    rows: [
      row('romkiln --help', ms.help, 1.4),
      row('romkiln chips', ms.chips, 1.5),
      row('romkiln check images/skerry-signals.yaml (1.7 KiB of YAML, a chip of 2 KiB)', ms.small, 2),
      row('romkiln check images/skerry-thermometer.yaml (1.6 KiB of YAML, a display in 8 KiB)', ms.large, 2.6),
    ],
    notes: [
      `wall time, medians of ${rounds} runs of each, in turn`,
      'processor time of the second check: 2.0 to 2.5 x, of which V8 spends 0.5 on optimising what is used no more (1.75 x with --no-opt)',
    ],
  };
}
