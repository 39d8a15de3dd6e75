// Conformance: words and fields, numbers of requests, and repeating them.
import { base64OfBytes } from '../ground/byte-text.js';
import { encodeAnswer, okFields } from '../protocol/codec.js';
import { composeLine, withCheck } from '../protocol/line.js';
import { refusalNumber } from '../protocol/refusals.js';
import { type RequestWord, requestWords } from '../protocol/request-words.js';
import { want, wantNo, wantOk } from './expectation.js';
import { type ConformanceRule, type RuleContext, rule } from './rule.js';

/** Fields that each word would accept. */
const goodFields = (word: RequestWord, context: RuleContext): string[] => {
  switch (word) {
    case 'echo':
      return ['Zm9v'];
    case 'rate':
      return ['1C200'];
    case 'chip':
      return context.chipFields();
    case 'presence':
      return ['0'];
    case 'read':
      return ['0', '1'];
    case 'sum':
      return ['0', '40', '40'];
    case 'write':
      return ['0', 'Zm9v'];
    case 'hold':
      return ['0', '7', '-'];
    default:
      return [];
  }
};

/** A writer that takes these by mistake would write the chip. */
const writing: readonly RequestWord[] = ['write', 'protect', 'unprotect'];

/** Fields that are malformed or out of range, and the index of the one that is. */
const wrongFields = (context: RuleContext): [RequestWord, string[], number][] => {
  const chip = (place: number, field: string): [RequestWord, string[], number] => {
    const fields = context.chipFields();
    fields[place] = field;
    return ['chip', fields, place + 1];
  };
  const tooMuch = base64OfBytes(new Uint8Array(context.writer.echo + 1));
  return [
    ...['80', '0', '3000', '2000000', 'G'].map((cells) => chip(0, cells)),
    ...['0', '2', '8', '30', '200'].map((page) => chip(1, page)),
    ...['0', '186A1', 'FFFFFFFF'].map((cycle) => chip(2, cycle)),
    ...['3E9', '10000'].map((window) => chip(3, window)),
    ...['3', '100'].map((poll) => chip(4, poll)),
    ...['3', '101', '-'].map((protection) => chip(5, protection)),
    ['echo', [tooMuch], 1],
    ['echo', ['Zm-v'], 1],
    ['rate', ['1C2OO'], 1],
    ['presence', ['-1'], 1],
    ['read', ['+1', '1'], 1],
    ['read', ['0x1', '1'], 1],
    ['read', ['0', '1.0'], 2],
    ['read', ['0', '0'], 2],
    ['sum', ['0', '40', 'g'], 3],
    ['sum', ['0', '40', '0'], 3],
    ['hold', ['0', '8', '-'], 2],
    ['hold', ['0', '7', 'F'], 3],
    ['hold', ['0', '7', '0FF'], 3],
    ['hold', ['0', '7', '--'], 3],
  ];
};

export const wordRules: readonly ConformanceRule[] = [
  rule('5', 'an unknown word is refused with its number', async ({ talk }) => {
    for (const word of ['sing', 'x', 'wh', 'whoo', 'abcdefghijkl']) {
      wantNo((await talk.ask(word, ['0'])).answer, refusalNumber.unknownWord);
    }
    await talk.tell(withCheck('01 abcdefghijklm'));
    wantNo(await talk.answer('a word of 13 letters'), refusalNumber.badLine);
  }),
  rule('5', 'a missing or surplus field is refused with its index', async (context) => {
    const { talk, scratch } = context;
    for (const word of Object.keys(requestWords) as RequestWord[]) {
      if (writing.includes(word) && !scratch) continue;
      const fields = goodFields(word, context);
      const surplus = (await talk.ask(word, [...fields, '0'])).answer;
      wantNo(surplus, refusalNumber.badField, [String(fields.length + 1)]);
      if (fields.length === 0) continue;
      const missing = (await talk.ask(word, fields.slice(0, -1))).answer;
      wantNo(missing, refusalNumber.badField, [String(fields.length)]);
    }
  }),
  rule('5', 'a field that is malformed or out of range is refused with its index', async (context) => {
    for (const [word, fields, index] of wrongFields(context)) {
      wantNo((await context.talk.ask(word, fields)).answer, refusalNumber.badField, [String(index)]);
    }
    await context.choose();
  }),
  rule('4', 'every chip that the page allows can be chosen', async (context) => {
    for (const cells of [0x100, 0x800, 0x1000000]) await context.choose({ cells });
    for (const page of [0x1, 0x10, 0x20, 0x40, 0x80, 0x100]) await context.choose({ page });
    for (const cycleUs of [1, 100_000]) await context.choose({ cycleUs });
    for (const windowUs of [0, 1000]) await context.choose({ windowUs });
    for (const poll of ['limit', 'data', 'toggle'] as const) await context.choose({ poll });
    for (const protection of ['none', 'codes', 'prefix'] as const) await context.choose({ protection });
    await context.choose();
  }),
  rule('4', 'an echo brings the same bytes back', async ({ talk, writer }) => {
    for (let count = 1; count <= writer.echo; count++) {
      const bytes = Uint8Array.from({ length: count }, (_, i) => (i * 37 + count * 101) & 0xff);
      for (const content of [bytes, new Uint8Array(count), new Uint8Array(count).fill(0xff)]) {
        const fields = okFields('echo', { bytes: content });
        wantOk((await talk.ask('echo', fields)).answer, fields);
      }
    }
  }),
  rule('3', 'an answer has the number of its request', async ({ talk }) => {
    for (let seq = 1; seq <= 0xff; seq++) wantOk((await talk.askAs(seq, 'echo', ['Zg=='])).answer);
  }),
  rule('3', 'a request that is repeated with the same number is answered again', async (context) => {
    const { talk } = context;
    const words = ['who', 'echo', 'registers', 'chip', 'read', 'stop'] as const;
    for (const word of words) {
      const seq = talk.seq();
      const line = composeLine(seq, word, goodFields(word, context));
      const answers: string[] = [];
      for (let i = 0; i < 2; i++) {
        await talk.tell(line);
        answers.push(encodeAnswer((await talk.exchange(seq, line.slice(0, -6))).answer).trimEnd());
      }
      want(answers[0] === answers[1], `\`${answers[0]}\` again`, `\`${answers[1]}\``);
    }
  }),
];
