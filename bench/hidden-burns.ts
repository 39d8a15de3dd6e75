// npm run bench -- hidden-burns [cases] [seed]: what the verdict on a burn through faulty wires is worth, by a model of its own.
import { seededRandom } from '../src/ground/random.js';
import { explainReadback } from '../src/suspect/explain-readback.js';
import { falseOnes, hiddenBurn, type Worth, worthOf } from '../tests/suspect/hidden-burns.js';
import { figureRow, plainRow, type Row, tellTable } from './row.js';

/** Time of the processor, since other work may share it. */
const cpuMs = (began: NodeJS.CpuUsage): number => process.cpuUsage(began).user / 1000;

const examplesMost = 12;
const playedEvery = 4;

export function main([casesText = '2000', seedText = '1', more = '']: readonly string[]): void {
  const cases = Number(casesText);
  const random = seededRandom(Number(seedText));
  const counts = new Map<Worth, number>();
  const examples: string[] = [];
  let accused = 0;
  const ms: number[] = [];
  for (let n = 0; n < cases; n++) {
    const hidden = hiddenBurn(random);
    const began = process.cpuUsage();
    const verdict = explainReadback(hidden.image, hidden.readback, hidden.options);
    ms.push(cpuMs(began));
    const worth = worthOf(hidden, verdict);
    counts.set(worth, (counts.get(worth) ?? 0) + 1);
    // Played again by every writer and every chip: a sample of them.
    for (const one of n % playedEvery === 0 ? falseOnes(hidden, verdict) : []) {
      accused++;
      examples.push(`${n}: false: ${hidden.story}: ${JSON.stringify([one.faults, one.cause])}`);
    }
    const isWrong = worth === 'truth excluded' || worth === 'sound line blamed alone';
    if ((isWrong && examples.length < examplesMost) || worth === more)
      examples.push(
        `${n}: ${worth}: ${hidden.story}: ${verdict.explanations.map((e) => JSON.stringify([e.faults, e.cause])).join(' ')}`,
      );
  }
  ms.sort((a, b) => a - b);
  const mean = ms.reduce((sum, one) => sum + one, 0) / cases;
  const rows: Row[] = [
    figureRow('truth excluded', counts.get('truth excluded') ?? 0, 'cases', 0, 0),
    figureRow('a sound line blamed, and nothing else', counts.get('sound line blamed alone') ?? 0, 'cases', 0, 0),
    figureRow('false accusations, of a quarter of them', accused, 'cases', 0, 0),
    ...(['right', 'none', 'healthy'] as const).map((worth) => plainRow(worth, `${counts.get(worth) ?? 0}`)),
    plainRow(
      'time per verdict: mean, median, longest',
      `${mean.toFixed(1)}, ${ms[cases >> 1]!.toFixed(1)}, ${ms.at(-1)!.toFixed(0)} ms`,
    ),
  ];
  tellTable([{ heading: `${cases} hidden burns of 2 KiB`, rows, notes: examples }]);
}
