// npm run sweep: all sweeps on the mock, and every 50th bit flip and cut on the real firmware.
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { firmwareBench } from './firmware-bench.js';
import { mockBench } from './mock-bench.js';
import { handBack, inProcesses, ownShare, type Share, tellDone } from './processes.js';
import { allCases, type Case, caseFailure, type SweepName, sweepTitles } from './sweeps.js';

const words = process.argv.slice(2);
const { values } = parseArgs({ args: words, options: { jobs: { type: 'string' }, help: { type: 'boolean' } } });

/** The part of the flips and cuts that the firmware gets, which takes much longer than the mock. */
const firmwareEvery = 50;

interface Trial {
  readonly one: Case;
  readonly where: 'mock' | 'firmware';
}

interface Result {
  readonly counts: Record<string, number>;
  readonly failures: string[];
}

async function trials(): Promise<Trial[]> {
  const cases = await allCases();
  const forFirmware = cases
    .filter(({ sweep }) => sweep === 'flipped' || sweep === 'cut')
    .filter((_, i) => i % firmwareEvery === 0);
  return [
    ...forFirmware.map((one): Trial => ({ one, where: 'firmware' })),
    ...cases.map((one): Trial => ({ one, where: 'mock' })),
  ];
}

async function runShare({ index, of }: Share): Promise<Result> {
  const result: Result = { counts: {}, failures: [] };
  const all = await trials();
  let done = 0;
  for (let i = index; i < all.length; i += of) {
    const { one, where } = all[i]!;
    const key = `${one.sweep} ${where}`;
    result.counts[key] = (result.counts[key] ?? 0) + 1;
    const failure = await caseFailure(one, where === 'mock' ? mockBench : firmwareBench);
    if (failure) result.failures.push(`on the ${where}: ${failure}`);
    tellDone(++done);
  }
  return result;
}

async function runAll(): Promise<number> {
  const total = (await trials()).length;
  const jobs = values.jobs === undefined ? undefined : Number(values.jobs);
  const begin = performance.now();
  const results = await inProcesses<Result>(fileURLToPath(import.meta.url), words, total, 'cases', jobs);
  const count = (sweep: string, where: string): number =>
    results.reduce((sum, r) => sum + (r.counts[`${sweep} ${where}`] ?? 0), 0);
  const failures = results.flatMap((r) => r.failures);
  process.stdout.write(`${total} cases in ${Math.round((performance.now() - begin) / 1000)} s\n`);
  for (const [sweep, title] of Object.entries(sweepTitles) as [SweepName, string][]) {
    const onFirmware = count(sweep, 'firmware');
    process.stdout.write(
      `  ${title}: ${count(sweep, 'mock')} on the mock${onFirmware > 0 ? `, ${onFirmware} on the firmware` : ''}\n`,
    );
  }
  process.stdout.write(
    failures.length === 0
      ? 'Every burn came through, or the next one did.\n'
      : `${failures.length} cases went wrong:\n`,
  );
  for (const failure of failures) process.stdout.write(`  ${failure}\n`);
  return failures.length > 0 ? 1 : 0;
}

const own = ownShare();
if (own) await handBack(await runShare(own));
else if (values.help) process.stdout.write('npm run sweep -- [--jobs <n>]\n');
else process.exitCode = await runAll();
