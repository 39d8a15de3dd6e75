// Reading and comparing images on this machine: against other readers, and how it grows.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import nrfIntelHex from 'nrf-intel-hex';
import { seededRandom } from '../src/ground/random.js';
import { differenceOf } from '../src/image/difference.js';
import { imageOfBytes } from '../src/image/image.js';
import { readImage } from '../src/image/read-image.js';
import { writeImage } from '../src/image/write-image.js';
import { cpuMsOf, inFreshProcess, inTurn } from './fresh-process.js';
import { plainRow, type Row, ratioRow, type Section } from './row.js';

// The package's types describe an ES module, but Node loads its CommonJS form, where the class itself is the export.
const MemoryMap = nrfIntelHex as unknown as typeof nrfIntelHex.default;
const rounds = 7;
const mebibyte = 1 << 20;

/** The largest image that is read, in records so short that its Intel HEX file has 4 MB. */
export function largeHexFile(): Uint8Array {
  const image = imageOfBytes('large', seededRandom(9).bytes(mebibyte));
  const text = new MemoryMap([[0, image.bytes]]).asHexString(7);
  return new TextEncoder().encode(`${text}\n`);
}

const perByte = (ms: number, bytes: number): string => `${((1e6 * ms) / bytes).toFixed(1)} ns a byte`;

/** CPU milliseconds of an objcopy that turns the file into raw binary; its start included. Null where there is none. */
function objcopyMs(path: string): number | null {
  const script = `objcopy -I ihex -O binary '${path}' '${path}.bin' && times`;
  const { status, stdout } = spawnSync('bash', ['-c', script], { encoding: 'utf8' });
  if (status !== 0) return null;
  const children = stdout.trim().split('\n').at(-1)!;
  return [...children.matchAll(/(\d+)m([\d.]+)s/g)].reduce(
    (sum, m) => sum + (Number(m[1]) * 60 + Number(m[2])) * 1000,
    0,
  );
}

function readingRows(folder: string): Row[] {
  const hex = largeHexFile();
  const path = join(folder, 'large.hex');
  writeFileSync(path, hex);
  const text = Buffer.from(hex).toString('latin1');
  const read = (bytes: Uint8Array) => () => cpuMsOf(() => void readImage(bytes, { file: 'large.hex', format: 'hex' }));
  const hasObjcopy = objcopyMs(path) !== null;
  const small = writeImage(imageOfBytes('small', seededRandom(9).bytes(mebibyte / 16)), 'hex');
  const ms = inTurn(rounds, {
    ours: read(hex),
    nrf: () => cpuMsOf(() => void MemoryMap.fromHex(text, Number.POSITIVE_INFINITY)),
    objcopy: () => (hasObjcopy ? objcopyMs(path)! : Number.NaN),
    small: read(small),
  });
  const megabytes = `${(hex.length / 1e6).toFixed(2)} MB hex file`;
  const row = (other: string, otherMs: number): Row =>
    ratioRow(
      `read a ${megabytes}; limit: ${other}`,
      `${otherMs.toFixed(0)} ms`,
      `${ms.ours.toFixed(0)} ms`,
      ms.ours / otherMs,
    );
  return [
    row('nrf-intel-hex (checks nothing but sums)', ms.nrf),
    ...(hasObjcopy ? [row('objcopy to raw binary', ms.objcopy)] : []),
    plainRow(
      '  growth, a byte of the file: 64 KiB image, 1 MiB image',
      `${perByte(ms.small, small.length)}, ${perByte(ms.ours, hex.length)}`,
    ),
  ];
}

function comparingRows(): Row[] {
  const sizes = [mebibyte / 16, mebibyte / 2, mebibyte];
  const pairs = sizes.map((size) => {
    const wanted = imageOfBytes('wanted', seededRandom(9).bytes(size));
    const other = (every: number) => wanted.bytes.map((byte, cell) => (cell % every === 0 ? byte ^ 1 : byte));
    return { size, wanted, equal: wanted.bytes.slice(), sparse: other(100), dense: other(2) };
  });
  const compare = (kind: 'equal' | 'sparse' | 'dense', index: number) => (): number => {
    const { wanted, [kind]: actual } = pairs[index]!;
    return cpuMsOf(() => void differenceOf(wanted, actual));
  };
  return (['equal', 'sparse', 'dense'] as const).map((kind) => {
    const ms = inTurn(rounds, { small: compare(kind, 0), half: compare(kind, 1), large: compare(kind, 2) });
    const what = { equal: 'equal', sparse: 'every 100th byte differs', dense: 'every second byte differs' }[kind];
    const figures = [ms.small, ms.half, ms.large].map((m, i) => perByte(m, sizes[i]!));
    return plainRow(`compare 64, 512, 1024 KiB, ${what}`, `${figures.join(', ')}`);
  });
}

/** Megabytes of the process at its largest: for the whole table, and without reading anything. */
export async function main([what]: readonly string[]): Promise<void> {
  const hex = largeHexFile();
  if (what === 'read') readImage(hex, { file: 'large.hex', format: 'hex' });
  process.stdout.write(JSON.stringify(process.resourceUsage().maxRSS / 1024));
}

export function imageSection(): Section {
  const folder = mkdtempSync(join(tmpdir(), 'romkiln-bench-'));
  try {
    const reading = inFreshProcess<number>('image-speed', ['read']);
    const without = inFreshProcess<number>('image-speed', ['nothing']);
    return {
      heading: 'Images on this machine',
      rows: [
        ...readingRows(folder),
        plainRow(
          '  memory at its most while reading it, above a process that only holds the file',
          `${(reading - without).toFixed(0)} MiB`,
        ),
        ...comparingRows(),
      ],
      notes: [`CPU time of all threads, medians of ${rounds} rounds, in turn`],
    };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
