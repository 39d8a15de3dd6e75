// The writer's codec (C), compiled for this computer, held to firmware-protocol.md and to the host's codec line by line.
import { afterAll, describe, expect, test } from 'vitest';
import { hex, hexOfBytes } from '../../src/ground/byte-text.js';
import { type Random, seededRandom } from '../../src/ground/random.js';
import { composeLine, withCheck } from '../../src/protocol/line.js';
import type { Request } from '../../src/protocol/message.js';
import { type RequestWord, requestWords } from '../../src/protocol/request-words.js';
import { decodeRequest } from '../mock/request-reading.js';
import { badLines, checkSumTables, tableOf, workedLines } from '../protocol/protocol-page.js';
import { systemTool } from '../support/system-tools.js';
import { buildNativeCodec } from './native-codec.js';

const buildable = systemTool('gcc') && systemTool('make');
const codec = buildable ? buildNativeCodec('host') : null;
afterAll(() => codec?.remove());

const body = (line: string): string => line.slice(0, -5);
const chooseChip = composeLine(5, 'chip', ['8000', '40', '2AF8', '96', '2', '1']).slice(0, -1);
const decode = (line: string): string => codec!.decode([line])[0]!;

/** A request in the words of firmware/src/host/codec.c. */
function spelled(seq: number, request: Request): string {
  const poll = { limit: 0, data: 1, toggle: 2 };
  const protection = { none: 0, codes: 1, prefix: 2 };
  const parts = requestWords[request.word].fields.map(({ key }) => {
    const value = (request as unknown as Record<string, unknown>)[key];
    if (key === 'poll') return `n:${poll[value as keyof typeof poll]}`;
    if (key === 'protection') return `n:${protection[value as keyof typeof protection]}`;
    if (value instanceof Uint8Array) return `b:${hexOfBytes(value)}`;
    if (key === 'data') return typeof value === 'number' ? `driven:${hex(value)}` : (value as string);
    return `n:${hex(value as number, 1)}`;
  });
  return ['good', hex(seq), request.word, ...parts].join(' ');
}

/** An answer of the page, without its check sequence, in the parts that the codec's `encode` takes. */
function inParts(answer: string): string {
  const [seq, word, ...fields] = answer.split(' ');
  if (word === 'writer') return `${seq} writer n:${/nonce=([0-9A-F]+)/.exec(answer)![1]}`;
  const parts = fields.map((field, i) => {
    if (/[^0-9A-F]/.test(field)) return `b:${Buffer.from(field, 'base64').toString('hex')}`;
    if (field.length === 8) return `d8:${field}`;
    return word === 'no' && fields[0] === 'C' && i > 1 ? `d2:${field}` : `n:${field}`;
  });
  return [seq, word, ...parts].join(' ');
}

describe.skipIf(!buildable)('when the codec of the writer runs on this computer (needs gcc and make)', () => {
  test('then it refuses the worked requests that a chip of 32 KiB refuses, and reads all others as the host wrote them', () => {
    const lines = workedLines();
    const requests = lines.filter((l) => l.from === 'host').map((l) => l.line);
    const answers = codec!.decode([chooseChip, ...requests]).slice(1);
    for (const [i, line] of requests.entries()) {
      const seen = answers[i]!;
      const host = decodeRequest(line);
      if (seen.startsWith('good')) expect(host.good && spelled(host.message.seq, host.message.request)).toBe(seen);
      else expect(lines.map((l) => l.line)).toContain(seen);
    }
    const refused = requests.filter((_, i) => !answers[i]!.startsWith('good')).map(body);
    const refusable = ['04 rate 38400', '0F hold 0 2 -', 'FE sing', 'FF read 0'];
    expect(refused).toEqual([...refusable, '01 read 7FFF 2', '02 write 3F AAE=']);
  });

  test('then it spells every answer of the page byte for byte', () => {
    const answers = workedLines().filter((l) => l.from === 'writer');
    expect(codec!.encode(answers.map(({ line }) => inParts(body(line))))).toEqual(answers.map(({ line }) => line));
  });

  test.each(badLines())('then `$line` is refused: $why', ({ line, refusal }) => {
    expect(decode(line).split(' ')[2]).toBe(hex(refusal, 1));
  });

  test('then its greeting announces the limits of the page', () => {
    const [line] = codec!.encode(['00 writer n:5E21']);
    const announced = Object.fromEntries(
      body(line!)
        .split(' ')
        .slice(2)
        .map((pair) => pair.split('=')),
    );
    const limits = tableOf('key', 'value (hex)', 'meaning').map(([key, value]) => [
      key,
      value === 'any' ? '5E21' : value,
    ]);
    expect(announced).toEqual(Object.fromEntries(limits));
  });

  test('then it knows the words of the page and no others', () => {
    for (const [word] of tableOf('request', 'fields', 'lines before the answer', 'answer', 'meaning')) {
      expect(decode(composeLine(1, word!, []).slice(0, -1))).not.toMatch(/^01 no 3 /);
      expect(decode(composeLine(1, `${word}s`, []).slice(0, -1))).toMatch(/^01 no 3 /);
    }
  });

  test('then its line check has the check value of the page', () => {
    const checkValue = checkSumTables()[0]!.get('check value of `123456789`');
    // No line begins so, but a check sequence that fits would make it an unknown word and not a bad line.
    expect(checkValue).toBe('29B1');
    expect(withCheck('01 stop')).toBe(`${codec!.encode(['01 stop'])[0]}\n`);
  });

  test('then an over-long line is told from the longest good one', () => {
    const lineOf = (size: number) => withCheck(`01 sing ${'A'.repeat(size - '01 sing  CCCC\n'.length)}`).slice(0, -1);
    expect(decode(lineOf(0x190))).toMatch(/^01 no 3 /);
    for (const size of [0x191, 0x192, 0x191 + 256, 3000]) expect(decode(lineOf(size))).toMatch(/^00 no 2 /);
  });

  test('then a block of every size up to a page comes out as it went in', () => {
    const random = seededRandom(11);
    const blocks = Array.from({ length: 64 }, (_, i) => random.bytes(i + 1));
    const lines = blocks.map((b, i) =>
      composeLine(i + 1, 'write', ['40', Buffer.from(b).toString('base64')]).slice(0, -1),
    );
    const wanted = blocks.map((b, i) => `good ${hex(i + 1)} write n:40 b:${hexOfBytes(b)}`);
    expect(codec!.decode([chooseChip, ...lines]).slice(1)).toEqual(wanted);
  });

  test('then both codecs judge every damaged line alike', () => {
    const random = seededRandom(27);
    const lines = Array.from({ length: 4000 }, () => damagedLine(random)).filter((line) => line !== '');
    const seen = codec!.decode(lines);
    expect(seen).toHaveLength(lines.length);
    for (const [i, line] of lines.entries()) expect([line, ...judgements(line, seen[i]!)]).toSatisfy(agree);
  });
});

/** A request with random fields, often damaged in one place, often with a check sequence that fits the damage. */
function damagedLine(random: Random): string {
  const words = Object.keys(requestWords) as RequestWord[];
  const alphabet = ' 0123456789ABCDEFabcdef+/=-~gz';
  const field = (): string =>
    random.chance(0.5)
      ? hex(random.below(2 ** random.below(33)), 1)
      : Buffer.from(random.bytes(random.below(50))).toString('base64');
  let line = `${hex(random.below(256))} ${random.pick(words)}`;
  for (let fields = random.below(8); fields > 0; fields--) line += ` ${field()}`;
  const place = random.below(line.length);
  const struck = random.chance(0.5) ? line.slice(0, place) + random.pick([...alphabet]) + line.slice(place + 1) : line;
  return (random.chance(0.8) ? withCheck(struck).slice(0, -1) : struck).trimEnd();
}

/** What each codec says: the refusal's number and its field, or the request. */
function judgements(line: string, seen: string): [host: string, writer: string] {
  const host = decodeRequest(line);
  const hostSays = host.good
    ? spelled(host.message.seq, host.message.request)
    : [hex(host.seq), 'no', hex(host.refusal, 1), ...host.fields].join(' ');
  return [hostSays, seen.startsWith('good') ? seen : body(seen)];
}

/** They agree (of several bad fields each may name another); or the form is good and the writer refuses what only it can judge (no chip, ranges, rates, levels). */
const agree = ([line, host, writer]: [string, string, string]): boolean =>
  host === writer ||
  [host, writer].every((says) => says.startsWith(`${line.slice(0, 2)} no 4 `)) ||
  (host.startsWith('good') && /^.. no (4|5|6|7|D|E|10)\b/.test(writer) && writer.slice(0, 2) === line.slice(0, 2));

describe.skipIf(!buildable)('when the codec runs under the sanitizers (needs gcc and make)', () => {
  test('then random lines never make it step beside its memory', () => {
    const sanitized = buildNativeCodec('host-sanitized');
    try {
      for (const seed of [1, 2, 3])
        expect(sanitized.fuzz(seed, 20_000)).toMatch(/^seed \d: 20000 lines, [1-9]\d* of them good$/);
    } finally {
      sanitized.remove();
    }
  });
});
