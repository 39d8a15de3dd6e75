// npm run simulate: many seeds, in as many processes as there are processors; or one seed again, told in full.
import { fork } from 'node:child_process';
import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { failureText, shrunken } from './failure.js';
import { firmwareBench } from './firmware-bench.js';
import { mockBench } from './mock-bench.js';
import { firmwareSizes, mockSizes } from './scenario.js';
import { type MakeBench, runSeed, type SeedRun } from './seed-run.js';
import { addTally, countRun, newTally, type Tally, tallyText } from './tally.js';
import { spellTrouble } from './trouble.js';

const usage = `npm run simulate -- [--seeds <n>] [--first <seed>] [--firmware] [--jobs <n>]
npm run simulate -- --seed <n> [--firmware] [--only <numbers of troubles>|none]\n`;

const { values } = parseArgs({
  args: process.argv.slice(3),
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
const options = values.firmware ? ' --firmware' : '';

/** The seeds of one process: every `step`-th from `first`. Each failure is shrunken where it was found. */
async function runSeeds(first: number, count: number, step: number, told: (tally: Tally) => void): Promise<Tally> {
  const tally = newTally();
  for (let i = 0; i < count; i++) {
    const run = await runSeed(first + i * step, makeBench, sizes);
    countRun(tally, run);
    if (run.broken.length > 0) {
      const text = failureText(run, await shrunken(run, makeBench), options);
      tally.failures.push({ seed: run.scenario.seed, text });
    }
    told(tally);
  }
  return tally;
}

function child(first: number, count: number, step: number, told: (seeds: number) => void): Promise<Tally> {
  return new Promise((resolve, reject) => {
    const words = [
      process.argv[2]!,
      '--first',
      `${first}`,
      '--seeds',
      `${count}`,
      ...(values.firmware ? ['--firmware'] : []),
    ];
    const worker = fork(fileURLToPath(import.meta.url), words, { env: { ...process.env, SIMULATION_STEP: `${step}` } });
    let done: Tally | null = null;
    worker.on('message', (message: { seeds: number } | { tally: Tally }) => {
      if ('tally' in message) done = message.tally;
      else told(message.seeds);
    });
    worker.on('exit', (code) => (done ? resolve(done) : reject(new Error(`a process ended with ${code}`))));
  });
}

function story(run: SeedRun): string {
  const { scenario } = run;
  const head = `Seed ${scenario.seed}: ${scenario.said.name}, a ${scenario.seated.name} in the socket, ${scenario.cycleUs} us a cycle\n`;
  const troubles = run.troubles.map((t, i) => `  ${i}: ${spellTrouble(t)}\n`).join('');
  const ends = run.ends.map(({ end, lifted, broken }) => {
    const text = `${end.out}${end.err}`.replace(/^/gm, '    ').trimEnd();
    const promises = broken.map((b) => `\n  PROMISE ${b.promise}: ${b.text}`).join('');
    return `  ${lifted ? 'Lifted: ' : ''}romkiln ${end.argv.join(' ')}\n${text}\n  exit ${end.exit}, ${end.ms.toFixed(1)} ms${promises}\n`;
  });
  return `${head}${troubles}${ends.join('')}`;
}

const begin = performance.now();
const seconds = (): number => (performance.now() - begin) / 1000;

async function main(): Promise<number> {
  if (values.help) {
    process.stdout.write(usage);
    return 0;
  }
  const step = Number(process.env.SIMULATION_STEP ?? 1);
  if (process.send) {
    const count = Number(values.seeds);
    const tally = await runSeeds(Number(values.first), count, step, (t) => process.send?.({ seeds: t.seeds }));
    process.send({ tally });
    process.disconnect();
    return 0;
  }
  if (values.seed !== undefined) {
    const only =
      values.only === undefined
        ? null
        : values.only
            .split(',')
            .filter((n) => /^\d+$/.test(n))
            .map(Number);
    const run = await runSeed(Number(values.seed), makeBench, sizes, only);
    process.stdout.write(story(run));
    return run.broken.length > 0 ? 1 : 0;
  }
  const count = Number(values.seeds);
  const first = Number(values.first);
  const jobs = Math.max(1, Math.min(count, Number(values.jobs ?? availableParallelism())));
  const where = values.firmware ? 'the real firmware on the emulated bench' : 'the mock writer';
  process.stdout.write(`Seeds ${first} to ${first + count - 1} on ${where}, in ${jobs} processes.\n`);
  const doneOf = new Array<number>(jobs).fill(0);
  let shown = 0;
  const children = doneOf.map((_, job) =>
    child(first + job, Math.ceil((count - job) / jobs), jobs, (seeds) => {
      doneOf[job] = seeds;
      const done = doneOf.reduce((a, b) => a + b, 0);
      const tenth = Math.floor((10 * done) / count);
      if (tenth > shown) process.stderr.write(`${done} of ${count} seeds, ${Math.round(seconds())} s\n`);
      shown = Math.max(shown, tenth);
    }),
  );
  const sum = newTally();
  for (const tally of await Promise.all(children)) addTally(sum, tally);
  sum.failures.sort((a, b) => a.seed - b.seed);
  process.stdout.write(tallyText(sum, seconds()));
  return sum.failures.length > 0 ? 1 : 0;
}

process.exitCode = await main();
