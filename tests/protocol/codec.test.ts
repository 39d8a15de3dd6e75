// The codec, held to the worked lines and the bad lines of firmware-protocol.md, and to what must hold for any line.
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { answerFields, decodeAnswer, encodeAnswer, encodeRequest, okFields } from '../../src/protocol/codec.js';
import { composeLine, withCheck } from '../../src/protocol/line.js';
import type { Answer, Request } from '../../src/protocol/message.js';
import { decodeRequest } from '../mock/request-reading.js';
import { badLines, workedLines } from './protocol-page.js';

const address = fc.nat({ max: 0xffffff });
const count = fc.integer({ min: 1, max: 0x1000000 });
const bytes = (maxLength: number) => fc.uint8Array({ minLength: 1, maxLength });

const anyRequest: fc.Arbitrary<Request> = fc.oneof(
  fc.constantFrom<Request>(
    { word: 'who' },
    { word: 'registers' },
    { word: 'protect' },
    { word: 'unprotect' },
    { word: 'stop' },
  ),
  fc.record({ word: fc.constant('echo' as const), bytes: bytes(0x30) }),
  fc.record({ word: fc.constant('rate' as const), baud: fc.nat({ max: 0xffffffff }) }),
  fc.record({
    word: fc.constant('chip' as const),
    cells: fc.integer({ min: 8, max: 24 }).map((lines) => 2 ** lines),
    page: fc.constantFrom(1, 0x10, 0x20, 0x40, 0x80, 0x100),
    cycleUs: fc.integer({ min: 1, max: 0x186a0 }),
    windowUs: fc.nat({ max: 0x3e8 }),
    poll: fc.constantFrom('limit' as const, 'data' as const, 'toggle' as const),
    protection: fc.constantFrom('none' as const, 'codes' as const, 'prefix' as const),
  }),
  fc.record({ word: fc.constant('presence' as const), address }),
  fc.record({ word: fc.constant('read' as const), address, count }),
  fc.record({ word: fc.constant('sum' as const), address, count, page: fc.integer({ min: 1, max: 0x1000 }) }),
  fc.record({ word: fc.constant('write' as const), address, bytes: bytes(0x100) }),
  fc.record({
    word: fc.constant('hold' as const),
    address,
    control: fc.nat({ max: 7 }),
    data: fc.oneof(fc.nat({ max: 0xff }), fc.constantFrom('released' as const, 'pulled' as const)),
  }),
);

const field = fc.stringMatching(/^[!-~]{1,9}$/);
const seq = fc.nat({ max: 0xff });
const anyAnswer: fc.Arbitrary<Answer> = fc.oneof(
  fc.record({ word: fc.constant('ok' as const), seq, fields: fc.array(field, { maxLength: 3 }) }),
  fc.record({ word: fc.constant('data' as const), seq, address, bytes: bytes(0xc0) }),
  fc.record({
    word: fc.constant('sums' as const),
    seq,
    address,
    sums: fc.array(fc.nat({ max: 0xffffffff }), { minLength: 1, maxLength: 8 }),
  }),
  fc.record({ word: fc.constant('no' as const), seq, refusal: fc.nat({ max: 0x10 }), fields: fc.array(field) }),
  fc.record({
    word: fc.constant('writer' as const),
    seq,
    version: fc.constant(1),
    nonce: fc.nat({ max: 0xffff }),
    line: address,
    store: address,
    slots: address,
    cells: address,
    echo: address,
    silenceMs: address,
    rates: fc.array(fc.nat({ max: 0xffffffff }), { minLength: 1 }),
    build: field,
  }),
);

const withoutLf = (line: string): string => line.slice(0, -1);

describe('worked lines', () => {
  test('there are as many as the page shows', () => {
    expect(workedLines().length).toBeGreaterThanOrEqual(47);
  });

  for (const { from, line } of workedLines()) {
    if (from === 'writer') {
      test(`when the writer says "${line}" then it decodes and encodes to the same bytes`, () => {
        const decoded = decodeAnswer(line);
        if (!decoded.good) throw new Error(`refused with ${decoded.refusal}`);
        expect(encodeAnswer(decoded.message)).toBe(`${line}\n`);
      });
      continue;
    }
    test(`when the host says "${line}" then it decodes and encodes to the same bytes, or earns the answer shown`, () => {
      const decoded = decodeRequest(line);
      if (decoded.good) {
        expect(encodeRequest(decoded.message.seq, decoded.message.request)).toBe(`${line}\n`);
      } else {
        const { seq, refusal, fields } = decoded;
        const shown = workedLines().map((worked) => `${worked.line}\n`);
        expect(shown).toContain(encodeAnswer({ word: 'no', seq, refusal, fields }));
      }
    });
  }
});

describe('bad lines', () => {
  for (const { line, refusal, why } of badLines()) {
    test(`when a line is bad because ${why} then its refusal is ${refusal}`, () => {
      expect(decodeRequest(line)).toMatchObject({ good: false, refusal, seq: refusal === 1 ? 0 : 1 });
    });
  }

  test('when a line with its LF is longer than the limit then it is too long, and one shorter is not', () => {
    const line = withoutLf(composeLine(1, 'write', ['0', 'A'.repeat(0x40)]));
    expect(decodeRequest(line, { line: line.length, echo: 1 })).toMatchObject({ good: false, refusal: 2, seq: 0 });
    expect(decodeRequest(line, { line: line.length + 1, echo: 1 }).good).toBe(true);
  });

  const fieldCases: [string, string[], string][] = [
    ['echo', [], '1'],
    ['echo', ['A'.repeat(0x44)], '1'],
    ['who', ['0'], '1'],
    ['read', ['0', ''.padStart(9, '0')], '2'],
    ['read', ['-1', '1'], '1'],
    ['chip', ['8000', '40', '2AF8', '96', '2'], '6'],
    ['chip', ['80', '40', '2AF8', '96', '2', '1'], '1'],
    ['chip', ['8001', '40', '2AF8', '96', '2', '1'], '1'],
    ['chip', ['2000000', '40', '2AF8', '96', '2', '1'], '1'],
    ['chip', ['8000', '2', '2AF8', '96', '2', '1'], '2'],
    ['chip', ['8000', '40', '0', '96', '2', '1'], '3'],
    ['chip', ['8000', '40', '186A1', '96', '2', '1'], '3'],
    ['chip', ['8000', '40', '2AF8', '3E9', '2', '1'], '4'],
    ['chip', ['8000', '40', '2AF8', '96', '3', '1'], '5'],
    ['chip', ['8000', '40', '2AF8', '96', '2', '3'], '6'],
    ['chip', ['8000', '40', '2AF8', '96', '2', '1', '0'], '7'],
    ['hold', ['0', '8', '-'], '2'],
    ['hold', ['0', '7', 'F'], '3'],
    ['hold', ['0', '7', '0FF'], '3'],
    ['hold', ['1000000', '7', '-'], '1'],
    ['read', ['0', '0'], '2'],
    ['sum', ['0', '0', '40'], '2'],
    ['sum', ['0', '40', '0'], '3'],
    ['sum', ['0', '2000', '2000'], '3'],
  ];
  for (const [word, fields, index] of fieldCases) {
    test(`when ${word} comes with "${fields.join(' ')}" then field ${index} is refused`, () => {
      const line = withoutLf(composeLine(7, word, fields));
      expect(decodeRequest(line)).toEqual({ good: false, seq: 7, refusal: 4, fields: [index] });
    });
  }

  test('when numbers come with leading zeros then they are accepted', () => {
    const line = withoutLf(composeLine(7, 'read', ['00000010', '006']));
    expect(decodeRequest(line)).toMatchObject({
      good: true,
      message: { request: { word: 'read', address: 16, count: 6 } },
    });
  });

  test('when an echo is as long as the writer announced then it is taken, and one byte more is not', () => {
    const echoOf = (count: number) => withoutLf(encodeRequest(1, { word: 'echo', bytes: new Uint8Array(count) }));
    expect(decodeRequest(echoOf(48), { line: 400, echo: 48 }).good).toBe(true);
    expect(decodeRequest(echoOf(49), { line: 400, echo: 48 })).toMatchObject({ good: false, refusal: 4 });
  });

  test('when an answer has an unknown word or a wrong field then it is refused with its number', () => {
    const decode = (word: string, ...fields: string[]) => decodeAnswer(withoutLf(composeLine(9, word, fields)));
    expect(decode('perhaps')).toMatchObject({ good: false, seq: 9, refusal: 3 });
    for (const [word, ...fields] of [
      ['data'],
      ['data', '0'],
      ['data', '0', 'Zm9=', 'x'],
      ['data', 'x', 'Zm9v'],
      ['data', '0', 'Zm9v', '0'],
      ['sums'],
      ['sums', '0'],
      ['sums', 'x', '12345678'],
      ['sums', '0', '1234567'],
      ['no'],
      ['no', 'x'],
      ['writer', 'version=2'],
    ]) {
      expect(decode(word!, ...fields), `${word} ${fields.join(' ')}`).toMatchObject({ good: false, refusal: 4 });
    }
  });

  test('when a value has no spelling then encoding it is a broken promise of ours', () => {
    expect(() => encodeRequest(1, { word: 'echo', bytes: new Uint8Array() })).toThrow('echo cannot be sent with b64');
    expect(() => encodeRequest(1, { word: 'read', address: -1, count: 1 })).toThrow('read cannot be sent with a');
    expect(() => encodeRequest(1, { word: 'hold', address: 0, control: 7, data: 256 })).toThrow('data = 100');
  });
});

describe('what the ok line carries', () => {
  test('when fields fit the request then they read as values, else as nothing', () => {
    expect(answerFields('registers', ['2'])).toEqual({ count: 2 });
    expect(answerFields('hold', ['FF'])).toEqual({ bus: 255 });
    expect(answerFields('read', ['9EF61F95'])).toEqual({ sum: 0x9ef61f95 });
    expect(answerFields('read', ['EF61F95'])).toBeNull();
    expect(answerFields('write', [])).toEqual({});
    expect(answerFields('write', ['0'])).toBeNull();
    expect(okFields('read', { sum: 1 })).toEqual(['00000001']);
    expect(okFields('echo', { bytes: Uint8Array.of(102, 111, 111) })).toEqual(['Zm9v']);
  });
});

describe('any line', () => {
  test('when any request is encoded then decoding gives it back', () => {
    fc.assert(
      fc.property(anyRequest, fc.integer({ min: 1, max: 255 }), (request, number) => {
        const decoded = decodeRequest(withoutLf(encodeRequest(number, request)));
        expect(decoded.good && decoded.message).toMatchObject({ seq: number, request });
      }),
    );
  });

  test('when any answer is encoded then decoding gives it back', () => {
    fc.assert(
      fc.property(anyAnswer, (answer) => {
        expect(decodeAnswer(withoutLf(encodeAnswer(answer)))).toEqual({ good: true, message: answer });
      }),
    );
  });

  // A change within 16 neighbouring bits is always seen by a CRC of width 16; one character is 8 of them.
  test('when any one character of a request is changed then it is never accepted as good', () => {
    fc.assert(
      fc.property(anyRequest, fc.nat(), fc.nat({ max: 254 }), (request, place, step) => {
        const line = withoutLf(encodeRequest(0x5a, request));
        const at = place % line.length;
        const other = String.fromCharCode((line.charCodeAt(at) + 1 + step) & 0xff);
        const changed = line.slice(0, at) + other + line.slice(at + 1);
        expect(decodeRequest(changed)).toMatchObject({ good: false, seq: 0, refusal: 1 });
      }),
      { numRuns: 2000 },
    );
  });

  test('when random text comes then neither end throws, and nothing of it is good', () => {
    const text = fc.string({ unit: 'binary', maxLength: 500 });
    fc.assert(
      fc.property(text, (line) => {
        expect(decodeRequest(line).good).toBe(false);
        expect(decodeAnswer(line).good).toBe(false);
      }),
      { numRuns: 2000 },
    );
  });

  test('when random words and fields come with a good check sequence then neither end throws', () => {
    const words = fc.constantFrom('read', 'write', 'chip', 'hold', 'writer', 'data', 'sums', 'no', 'constructor', 'x');
    const anyField = fc.oneof(field, fc.constantFrom('version=2', 'rates=', '=', 'Zm9v', '0'));
    fc.assert(
      fc.property(words, fc.array(anyField), fc.boolean(), (word, fields, spoiled) => {
        const line = withoutLf(withCheck(`01 ${word}${spoiled ? ' ' : ''} ${fields.join(' ')}`));
        decodeRequest(line);
        decodeAnswer(line);
      }),
      { numRuns: 2000 },
    );
  });
});
