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
    check: () => wallMsOfNode([romkiln, 'check', 'images/skerry-thermometer.yaml']),
  });
  const row = (work: string, found: number, most: number | null = null) =>
    ratioRow(work, `${ms.bare.toFixed(0)} ms`, `${found.toFixed(0)} ms`, found / ms.bare, most);
  return {
    heading: 'Start-up; limit: "node -e 0"',
    rows: [
      row('romkiln --help', ms.help, 1.4),
      row('romkiln chips', ms.chips, 1.5),
      row('romkiln check images/skerry-thermometer.yaml (YAML and schema library)', ms.check),
    ],
    notes: [`wall time, medians of ${rounds} runs of each, in turn`],
  };
}
