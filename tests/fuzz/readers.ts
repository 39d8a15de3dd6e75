// Every reader of the tool that is given something from outside, with good inputs to begin from.
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { findPart } from '../../src/chip/chip-table.js';
import { parseWiringFault } from '../../src/chip/wiring-fault.js';
import { sayErrors } from '../../src/cli/error-text.js';
import { run } from '../../src/cli/run.js';
import { parseBench, spellBench } from '../../src/emulator/bench-file.js';
import { newBenchState } from '../../src/emulator/bench-state.js';
import { parseFault } from '../../src/emulator/chip-fault.js';
import { bytesOfText } from '../../src/ground/byte-text.js';
import { seededRandom } from '../../src/ground/random.js';
import type { Image } from '../../src/image/image.js';
import type { ImageFormat } from '../../src/image/image-format.js';
import { parseRange } from '../../src/image/range.js';
import { readImage } from '../../src/image/read-image.js';
import { writeImage } from '../../src/image/write-image.js';
import { type BookEntry, openBook } from '../../src/job/book.js';
import { historyOf } from '../../src/job/chip-history.js';
import { cutOffs } from '../../src/job/cut-off.js';
import { openKeep } from '../../src/job/keep.js';
import { buildPlan, checkPlan, listPlan, readPlan, romOf } from '../../src/plan/plan.js';
import { answerFields, decodeAnswer, encodeAnswer, encodeRequest } from '../../src/protocol/codec.js';
import { firmwareLimits } from '../../src/protocol/limits.js';
import type { Request } from '../../src/protocol/message.js';
import { bookText, damagedBookText, historyText } from '../../src/report/book-text.js';
import { keptListText, keptText } from '../../src/report/keep-text.js';
import { startSession, verdict } from '../../src/suspect/bench-session.js';
import { readObservations } from '../../src/suspect/observation-file.js';
import { circuitOfPlan } from '../../src/suspect/plan-circuit.js';
import { decodeRequest } from '../mock/request-reading.js';
import { fakeWorld } from '../support/fake-world.js';
import { memoryFiles } from '../support/memory-files.js';
import type { Reader } from './reader.js';

const utf8 = (text: string): Uint8Array => new Uint8Array(Buffer.from(text, 'utf8'));
const textOf = (bytes: Uint8Array): string => Buffer.from(bytes).toString('utf8');
const latin1Of = (bytes: Uint8Array): string => Buffer.from(bytes).toString('latin1');
const broken = (promise: string): never => {
  throw new Error(`broken promise: ${promise}`);
};

const sampleImage = (count: number, base: number): Image => ({
  name: 'sample',
  bytes: seededRandom(count).bytes(count + base),
  defined: new Uint8Array(count + base).fill(1, base).fill(0, base + 7, base + 12),
});

/** A record with its check sum made right again: Intel HEX sums to 00 with it, an S-record to FF without its type. */
function withFittingSum(line: string): string {
  const record = /^(:|S.)((?:[0-9A-F]{2})+)[0-9A-F]{2}$/i.exec(line);
  if (!record) return line;
  const [, mark = '', digits = ''] = record;
  const sum = digits.match(/../g)!.reduce((total, pair) => total + Number.parseInt(pair, 16), 0);
  const check = (mark === ':' ? -sum : ~sum) & 0xff;
  return mark + digits + check.toString(16).toUpperCase().padStart(2, '0');
}

/** So that more than the sums is tried, most inputs get sums that fit. */
const withFittingSums = (input: Uint8Array): Uint8Array =>
  // What a large file costs is asked of the reader, not of this.
  input.length % 4 === 0 || input.length > 1e6
    ? input
    : bytesOfText(latin1Of(input).split('\n').map(withFittingSum).join('\n'));

const largeImage: Readonly<Record<ImageFormat, Reader['large']>> = {
  hex: { unit: utf8(':0400000001020304F2\n'), end: utf8(':00000001FF\n') },
  srec: { unit: utf8('S107000001020304EE\n'), end: utf8('S9030000FC\n') },
  memh: { unit: utf8('01 02 03 /* four */ 04 // end\n'), end: new Uint8Array() },
  bin: { unit: new Uint8Array(1000), end: new Uint8Array() },
};

/** What is read is written again and read again: it must be the same. */
function imageReader(format: ImageFormat, corpus: readonly Uint8Array[], words: readonly string[]): Reader {
  return {
    ...(largeImage[format] && { large: largeImage[format] }),
    ofFiles: true,
    name: { bin: 'raw images', hex: 'Intel HEX', srec: 'S-records', memh: 'memory text' }[format],
    corpus,
    words,
    read(raw) {
      const input = format === 'bin' ? raw : withFittingSums(raw);
      const size = input.length % 3 === 0 ? 2048 : undefined;
      const { image, warnings } = readImage(input, { file: `a.${format}`, format, size });
      if (image.bytes.length !== image.defined.length) broken('as many flags as bytes');
      if (image.bytes.length > 0x100000) broken('at most 1 MiB');
      if (format !== 'bin' && image.defined.includes(1) && image.bytes.length < 4096) {
        const again = readImage(writeImage(image, format), { file: 'b', format, size: image.bytes.length });
        image.defined.forEach((flag, i) => {
          if (flag !== again.image.defined[i]) broken('what is written is read again');
          if (flag === 1 && image.bytes[i] !== again.image.bytes[i]) broken('what is written is read again');
        });
      }
      return warnings.map((w) => w.text.replace(/[\dA-Fa-fx.]+/g, '')).join('|');
    },
  };
}

/** The one whose questions are asked of a display comes first. */
const plans = ['thermometer', 'tally', 'signals', 'balloon-winch'].map((name) =>
  readFileSync(`images/skerry-${name}.yaml`, 'utf8'),
);
/** A short plan of every kind of contents. They are read soonest, and their mistakes reach furthest. */
const shortPlans = [...readFileSync('images/README.md', 'utf8').matchAll(/^```yaml\n(plan: [\s\S]*?)^```/gm)].map(
  ([, text]) => text!,
);
const planWords = [...new Set([...plans, ...shortPlans].join('\n').match(/[A-Za-z_-]{2,}:?|\*\w+|&\w+/g) ?? [])];

const entry: BookEntry = {
  time: '2026-01-02T03:04:05.000Z',
  command: 'burn',
  label: 'U7',
  chip: 'AT28C256',
  image: { name: 'a.hex', sha256: '0'.repeat(64) },
  writer: { port: '/dev/ttyUSB0', build: 'firmware-2.0.0' },
  pages: '0-5,7',
  pageBytes: 64,
  skipped: 1,
  retries: 0,
  outcome: { kind: 'verified', pages: '0-511' },
  exit: 0,
};

function bookReader(): Reader {
  const files = memoryFiles();
  const book = openBook(files, 'data');
  const dumped = { kind: 'dumped', file: 'x', doubtful: false } as const;
  book.add(entry);
  book.add({ ...entry, label: null, image: null, pages: '', outcome: dumped, command: 'dump' });
  book.add({ time: entry.time, settles: '0123456789ab' });
  return {
    ofFiles: true,
    name: 'the book',
    corpus: [files.read('data/book.jsonl')],
    words: Object.keys(entry).map((name) => `"${name}":`),
    read(input) {
      const given = openBook(memoryFiles({ 'data/book.jsonl': input }), 'data');
      const read = given.read();
      const { entries, damaged } = read;
      bookText(entries, cutOffs([], read));
      damagedBookText(given.path, read);
      historyText('U7', historyOf(entries, []), 10_000);
      given.add(entry);
      if (given.read().entries.length !== entries.length + 1) broken('a line that is added is read');
      return `${Math.min(entries.length, 4)} ${damaged.length > 0}`;
    },
  };
}

/** The record under the name and number that its own facts make, so that more than the number is tried. */
function withFittingId(input: Uint8Array): { readonly id: string; readonly bytes: Uint8Array } {
  try {
    const { id: _, ...facts } = JSON.parse(textOf(input)) as { id?: unknown };
    const id = createHash('sha256').update(JSON.stringify(facts)).digest('hex').slice(0, 12);
    return { id, bytes: utf8(JSON.stringify({ id, ...facts })) };
  } catch {
    return { id: 'a'.repeat(12), bytes: input };
  }
}

function keepReader(): Reader {
  const files = memoryFiles();
  const about = { time: entry.time, chip: entry.chip, label: 'U7', port: 'p', image: 'a.hex' };
  openKeep(files, 'k').store(about, [{ from: 64, bytes: Uint8Array.of(1, 2, 3) }]);
  const [[objectPath, object] = ['', new Uint8Array()]] = [...files.stored].filter(([p]) => p.includes('objects'));
  const [[, record] = ['', new Uint8Array()]] = [...files.stored].filter(([p]) => p.includes('records'));
  return {
    ofFiles: true,
    name: 'keep records',
    corpus: [record],
    words: ['"runs":[', '{"from":0,"count":1}', '"digest":', '../', '"id":'],
    read(input) {
      const { id, bytes } = withFittingId(input);
      const keep = openKeep(memoryFiles({ [objectPath]: object, [`k/records/${id}.json`]: bytes }), 'k');
      const { records, damaged } = keep.list();
      keptListText(records, damaged);
      for (const found of records) keptText(found, keep.runsOf(keep.find(found.id)), null);
      return `${records.length} ${damaged.length}`;
    },
  };
}

const requests: readonly Request[] = [
  { word: 'who' },
  { word: 'echo', bytes: Uint8Array.of(1, 2, 3) },
  { word: 'rate', baud: 500_000 },
  { word: 'chip', cells: 0x8000, page: 64, cycleUs: 11_000, windowUs: 150, poll: 'toggle', protection: 'codes' },
  { word: 'read', address: 0x10, count: 6 },
  { word: 'sum', address: 0, count: 128, page: 64 },
  { word: 'write', address: 64, bytes: seededRandom(1).bytes(64) },
  { word: 'hold', address: 0x1555, control: 7, data: 'released' },
  { word: 'stop' },
];

/** Lines with their check sequence made right again, so that more than the check is tried. */
const withFittingCheck = (line: string, encode: (text: string) => string): string =>
  line.length > 5 && line.length % 2 === 0 ? encode(line.slice(0, -5)) : line;

async function protocolReaders(): Promise<Reader[]> {
  const { withCheck } = await import('../../src/protocol/line.js');
  const fitted = (line: string): string => withFittingCheck(line, (text) => withCheck(text).slice(0, -1));
  const page = readFileSync('firmware-protocol.md', 'utf8');
  const worked = (arrow: string): Uint8Array[] =>
    [...page.matchAll(new RegExp(`^${arrow} (.*)$`, 'gm'))].map(([, line]) => bytesOfText(line!));
  return [
    {
      name: 'protocol lines at the writer',
      corpus: [...worked('>'), ...requests.map((r, i) => bytesOfText(encodeRequest(i + 1, r).slice(0, -1)))],
      words: requests.map((r) => r.word),
      read(input) {
        const decoded = decodeRequest(fitted(latin1Of(input)), firmwareLimits);
        if (!decoded.good) return `refusal ${decoded.refusal}`;
        const { seq, request } = decoded.message;
        const again = decodeRequest(encodeRequest(seq, request).slice(0, -1), firmwareLimits);
        if (!again.good || JSON.stringify(again.message.request) !== JSON.stringify(request))
          broken('a request that is read is spelled and read again');
        return request.word;
      },
    },
    {
      name: 'protocol lines at the host',
      corpus: worked('<'),
      words: ['ok', 'no', 'data', 'sums', 'writer', 'version=2', 'nonce=', 'rates=', 'store='],
      read(input) {
        const decoded = decodeAnswer(fitted(latin1Of(input)));
        if (!decoded.good) return `refusal ${decoded.refusal}`;
        const answer = decoded.message;
        if (answer.word === 'ok') for (const { word } of requests) answerFields(word, answer.fields);
        const again = decodeAnswer(encodeAnswer(answer).slice(0, -1));
        if (!again.good || JSON.stringify(again.message) !== JSON.stringify(answer))
          broken('an answer that is read is spelled and read again');
        return answer.word;
      },
    },
  ];
}

function observationReader(): Reader {
  const plan = readPlan(plans[0]!, 'p.yaml');
  const session = startSession(circuitOfPlan(plan, romOf(plan), buildPlan(plan)[0]!.image));
  const setting = session.circuit.questions.slice(0, 6).map((q) => {
    const words = session.circuit.fields.map((f) => `${f.name}=${q.values.get(f.name)}`);
    return `${words.join(' ')}: ?`;
  });
  return {
    ofFiles: true,
    name: 'observations',
    corpus: [utf8(`# seen today\n${setting.join('\n')}\n`), utf8(setting[0]!)],
    words: [...session.circuit.fields.flatMap((f) => [`${f.name}=`, ...f.names.values()]), ': -12', ': 128', ': ?'],
    read(input) {
      const heard = readObservations(session, textOf(input), 'seen.txt');
      if (input.length % 64 === 0) verdict(heard);
      return '';
    },
  };
}

const small = (): Uint8Array =>
  utf8(
    spellBench(
      newBenchState({
        part: findPart('AT28C16'),
        faults: ['A4 open', 'weak 0x12F'],
        contents: seededRandom(3).bytes(300),
      }),
    ),
  );

/** The words of a command in a world of files: whatever they are, it is no fault of ours, and nothing shows control characters. */
function commandLineReader(): Reader {
  const image = writeImage(sampleImage(40, 3), 'hex');
  const files = { 'a.hex': image, 'b.hex': image, 'p.yaml': plans[0]!, 'odd\x1b[2J.hex': image };
  const commands = [
    ...['check p.yaml', 'build p.yaml -o out', 'list p.yaml', 'look p.yaml 0x25', 'compare a.hex b.hex --range 3..9'],
    ...[
      'chips AT28C256',
      'chips',
      'keep list',
      'book --label U7',
      'keep show 12',
      'restore 12',
      'ports',
      'burn --help',
    ],
    ...['burn a.hex --chip AT28C16 --port x', 'dump -o odd\x1b[2J.hex --chip 28C64 --port x', 'emulate show b.json'],
  ];
  return {
    name: 'the command line',
    corpus: commands.map((c) => utf8(c.replaceAll(' ', '\n'))),
    words: [
      '--json',
      '--chip',
      '--range',
      '0x10..0x20',
      '-o',
      '--',
      '-',
      '--quiet',
      'a.hex',
      'odd\x1b[2J.hex',
      '--rom',
      '=x',
    ],
    async read(input) {
      const world = fakeWorld({ initialFiles: files });
      const exit = await run(textOf(input).split('\n'), world);
      const shown = world.out() + world.err();
      if (exit === 70 || / {4}at \S+ \(/.test(shown)) broken(`no fault of ours: ${shown.slice(0, 200)}`);
      if (/[\0-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]/.test(shown)) broken('no control characters are shown');
      return `${exit} ${/\[([a-z.-]+)\]/.exec(world.err())?.[1] ?? ''}`;
    },
  };
}

/** Names, faults and ranges that a person types. */
function wordReader(): Reader {
  const words = [
    'A4 open',
    'D0 stuck 1',
    'A4 A7 crossed',
    'D1 D2 shorted low',
    'weak 0x12F',
    'smaller 0x400',
    'AT28C256-15PU',
    '0x100..0x1ff',
    '28C64',
  ];
  return {
    name: 'names, faults and ranges',
    corpus: words.map(utf8),
    words: ['A', 'D', '..', '0x', 'open', 'stuck', 'shorted'],
    async read(input) {
      const text = textOf(input);
      const readers = [
        parseWiringFault,
        (t: string) => parseFault(t, 2048),
        findPart,
        (t: string) => parseRange(t, 2048),
      ];
      let good = 0;
      for (const read of readers)
        try {
          read(text);
          good++;
        } catch (error) {
          const world = fakeWorld();
          if (sayErrors(error, world, { json: false, command: '' }) === 70) throw error;
          if (/[\0-\x09\x0b-\x1f\x7f-\x9f]/.test(world.err())) broken('no control characters are shown');
        }
      return `${good}`;
    },
  };
}

export async function allReaders(): Promise<Reader[]> {
  const hexWords = [':', ':00000001FF', ':020000040800F2', ':02000002FFFFFE', ':0400000500000000F7', 'FF', '10'];
  const recordWords = ['S0', 'S1', 'S2', 'S3', 'S5', 'S7', 'S8', 'S9', 'S9030000FC', 'FF'];
  const images = [sampleImage(40, 3), sampleImage(300, 0)];
  return [
    imageReader(
      'hex',
      images.map((i) => writeImage(i, 'hex')),
      hexWords,
    ),
    imageReader(
      'srec',
      images.map((i) => writeImage(i, 'srec')),
      recordWords,
    ),
    imageReader(
      'memh',
      images.map((i) => writeImage(i, 'memh')),
      ['@', '@1F0', '_', 'xx', 'zz', '//', '/*', '*/', '\t', '\f'],
    ),
    imageReader('bin', [...images.map((i) => writeImage(i, 'bin')), writeImage(images[0]!, 'hex')], [':', 'S1']),
    {
      ofFiles: true,
      name: 'plans',
      corpus: [...shortPlans, ...shortPlans, ...plans].map(utf8),
      words: [...planWords, '&a', '*a', '<<: *a', '- ', '[', '{', '|', '>-', '!!binary', '? '],
      read(input) {
        const plan = readPlan(textOf(input), 'p.yaml', () => utf8('123456789'));
        checkPlan(plan);
        buildPlan(plan);
        if (input.length % 16 === 0) listPlan(plan);
        return `${plan.roms.length}`;
      },
    },
    {
      ofFiles: true,
      name: 'bench files',
      corpus: [small()],
      words: ['"faults"', '"cells"', '"wear"', '"FF"', '"0"', '256*3', '"part":"AT28C64"'],
      read: (input) => String(spellBench(parseBench(textOf(input), 'b.json')).length),
    },
    bookReader(),
    keepReader(),
    observationReader(),
    ...(await protocolReaders()),
    wordReader(),
    commandLineReader(),
  ];
}
