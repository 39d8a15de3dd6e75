// npm run simulate: many seeds, in as many processes as there are processors; or one seed again, told in full.
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { failureText, shrunken } from './failure.js';
import { firmwareBench } from './firmware-bench.js';
import { mockBench } from './mock-bench.js';
import { handBack, inProcesses, ownShare, type Share, tellDone } from './processes.js';
import { firmwareSizes, mockSizes } from './scenario.js';
import { type MakeBench, runSeed, type SeedRun } from './seed-run.js';
import { addTally, countRun, newTally, type Tally, tallyText } from './tally.js';
import { spellTrouble } from './trouble.js';

const usage = `npm run simulate -- [--seeds <n>] [--first <seed>] [--firmware] [--jobs <n>]
npm run simulate -- --seed <n> [--firmware] [--only <numbers of troubles>|none]\n`;

const words = process.argv.slice(2);
const { values } = parseArgs({
  args: words,
  options: {
    seeds: { type: 'string', default: '1000' },
    first: { type: 'string', default: '1' },
    seed: { type: 'string' },
    only: { type: 'string' },
    firmware: { type: 'boolean', default: false },
    jobs: { type: 'string' },
    help: { type: 'boolean', default: false },
  },
});
const makeBench: MakeBench = values.firmware ? firmwareBench : mockBench;
const sizes = values.firmware ? firmwareSizes : mockSizes;
const [first, count] = [Number(values.first), Number(values.seeds)];

/** The seeds of one process. Each failure is cut down where it was found. */
async function runShare({ index, of }: Share): Promise<Tally> {
  const tally = newTally();
  for (let seed = first + index; seed < first + count; seed += of) {
    const run = await runSeed(seed, makeBench, sizes);
    countRun(tally, run);
    if (run.broken.length > 0) {
      const text = failureText(run, await shrunken(run, makeBench), values.firmware ? ' --firmware' : '');
      tally.failures.push({ seed, text });
    }
    tellDone(tally.seeds);
  }
  return tally;
}

async function runAll(): Promise<number> {
  const where = values.firmware ? 'the real firmware on the emulated bench' : 'the mock writer';
  process.stdout.write(`Seeds ${first} to ${first + count - 1} on ${where}.\n`);
  const begin = performance.now();
  const jobs = values.jobs === undefined ? undefined : Number(values.jobs);
  const tallies = await inProcesses<Tally>(fileURLToPath(import.meta.url), words, count, 'seeds', jobs);
  const sum = newTally();
  for (const tally of tallies) addTally(sum, tally);
  sum.failures.sort((a, b) => a.seed - b.seed);
  process.stdout.write(tallyText(sum, (performance.now() - begin) / 1000));
  return sum.failures.length > 0 ? 1 : 0;
}

function story(run: SeedRun): string {
  const { seed, said, seated, cycleUs } = run.scenario;
  const head = `Seed ${seed}: ${said.name}, a ${seated.name} in the socket, ${cycleUs} us a cycle\n`;
  const troubles = run.troubles.map((t, i) => `  ${i}: ${spellTrouble(t)}\n`).join('');
  const ends = run.ends.map(({ end, lifted, broken }) => {
    const text = `${end.out}${end.err}`.replace(/^/gm, '    ').trimEnd();
    const promises = broken.map((b) => `\n  PROMISE ${b.promise}: ${b.text}`).join('');
    return `  ${lifted ? 'Lifted: ' : ''}romkiln ${end.argv.join(' ')}\n${text}\n  exit ${end.exit}, ${end.ms.toFixed(1)} ms${promises}\n`;
  });
  return `${head}${troubles}${ends.join('')}`;
}

async function runOne(seed: number): Promise<number> {
  const numbers = values.only?.split(',').filter((n) => /^\d+$/.test(n));
  const run = await runSeed(seed, makeBench, sizes, numbers?.map(Number) ?? null);
  process.stdout.write(story(run));
  return run.broken.length > 0 ? 1 : 0;
}

const own = ownShare();
if (own) await handBack(await runShare(own));
else if (values.help) process.stdout.write(usage);
else process.exitCode = values.seed === undefined ? await runAll() : await runOne(Number(values.seed));
