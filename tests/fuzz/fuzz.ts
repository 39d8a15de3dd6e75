// npm run fuzz: many inputs for every reader of the tool, in as many processes as there are processors, and one large file each.
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { handBack, inProcesses, ownShare, type Share, tellDone } from '../simulation/processes.js';
import { largeBytes, memoryInProcess, memoryMost, memoryOfReading } from './large-files.js';
import { type Find, type FuzzCount, fuzzReader } from './reader.js';
import { allReaders } from './readers.js';

const words = process.argv.slice(2);
const { values } = parseArgs({
  args: words,
  options: {
    inputs: { type: 'string', default: '100000' },
    reader: { type: 'string', multiple: true },
    seed: { type: 'string', default: '1' },
    jobs: { type: 'string' },
    large: { type: 'string' },
    help: { type: 'boolean' },
  },
});
/** So many inputs are drawn from one seed; the next ones from another. */
const blockInputs = 10_000;

const readers = (await allReaders()).filter((r) => values.reader?.some((name) => r.name.includes(name)) ?? true);

interface Block {
  readonly index: number;
  readonly inputs: number;
  readonly seed: number;
}

/** All readers' blocks, one of each in turn, so that every process gets some of every kind. */
function blocks(): Block[] {
  const each = Math.ceil(Number(values.inputs) / blockInputs);
  return Array.from({ length: each }, (_, block) =>
    readers.map((_, index) => ({
      index,
      inputs: Math.min(blockInputs, Number(values.inputs) - block * blockInputs),
      seed: Number(values.seed) * 1_000_003 + block,
    })),
  ).flat();
}

async function runShare({ index, of }: Share): Promise<FuzzCount[]> {
  const counts: FuzzCount[] = [];
  let done = 0;
  const all = blocks();
  for (let i = index; i < all.length; i += of) {
    const { index: reader, inputs, seed } = all[i]!;
    const told = (): void => {
      done += 100;
      tellDone(done);
    };
    const count = await fuzzReader(readers[reader]!, inputs, seed, told);
    // A long run that is stopped has told what it found.
    for (const find of count.finds) process.stderr.write(textOfFind(find));
    counts.push(count);
  }
  return counts;
}

const textOfFind = ({ reader, what, input }: Find): string =>
  `FOUND in ${reader}: ${what}\n  input (base64): ${input.slice(0, 2000)}\n`;

const largeText = (memory: number | null): string =>
  `; ${largeBytes / 1e6} MB take ${memory === null ? 'endless memory' : `${Math.max(0, Math.round(memory / 1e6))} MB`}`;

function textOf(name: string, counts: readonly FuzzCount[], large: string): string {
  const sum = (of: (c: FuzzCount) => number): number => counts.reduce((total, c) => total + of(c), 0);
  const slowest = Math.max(...counts.map((c) => c.slowestMs));
  const most = Math.max(...counts.map((c) => c.ways));
  return `  ${name}: ${sum((c) => c.inputs)} inputs, ${sum((c) => c.good)} good, ${sum((c) => c.refused)} refused, in up to ${most} ways; slowest ${slowest.toFixed(0)} ms${large}\n`;
}

async function runAll(): Promise<number> {
  const begin = performance.now();
  const total = readers.length * Number(values.inputs);
  const jobs = values.jobs === undefined ? undefined : Number(values.jobs);
  const counts = (await inProcesses<FuzzCount[]>(fileURLToPath(import.meta.url), words, total, 'inputs', jobs)).flat();
  const finds = counts.flatMap((c) => c.finds);
  process.stdout.write(
    `${total} inputs for ${readers.length} readers in ${Math.round((performance.now() - begin) / 1000)} s\n`,
  );
  for (const { name, ofFiles } of readers) {
    const memory = ofFiles ? memoryInProcess(name) : 0;
    if (memory === null || memory > memoryMost)
      finds.push({ reader: name, what: `${largeBytes} bytes take ${memory ?? 'endless'} bytes of memory`, input: '' });
    const own = counts.filter((c) => c.reader === name);
    process.stdout.write(textOf(name, own, ofFiles ? largeText(memory) : ''));
  }
  const told = new Set<string>();
  for (const find of finds) {
    const key = `${find.reader} ${find.what.slice(0, 80)}`;
    if (told.has(key)) continue;
    told.add(key);
    process.stdout.write(textOfFind(find));
  }
  process.stdout.write(
    told.size === 0 ? 'Every input was read or refused in words.\n' : `${told.size} faults found.\n`,
  );
  return told.size > 0 ? 1 : 0;
}

const own = ownShare();
if (own) await handBack(await runShare(own));
else if (values.help)
  process.stdout.write('npm run fuzz -- [--inputs <n>] [--reader <name>] [--seed <n>] [--jobs <n>]\n');
else if (values.large !== undefined) {
  const reader = readers.find((r) => r.name === values.large);
  if (reader) process.stdout.write(String(await memoryOfReading(reader)));
} else process.exitCode = await runAll();
