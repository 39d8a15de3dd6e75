// Conformance: registers, presence, reading, summing, and what happens while a stream runs.
import { crc32IsoHdlc } from '../ground/check-sums.js';
import { answerFields } from '../protocol/codec.js';
import { fieldOfNumber } from '../protocol/field-kind.js';
import { protocolCounts } from '../protocol/limits.js';
import { composeLine } from '../protocol/line.js';
import type { Answer } from '../protocol/message.js';
import { refusalNumber } from '../protocol/refusals.js';
import { broken, spoken, want, wantNo, wantOk } from './expectation.js';
import { bytesOfRead, type ConformanceRule, type RuleContext, rule } from './rule.js';

const numbers = (...values: number[]): string[] => values.map(fieldOfNumber);

/** A range that takes long enough to be interrupted. */
const longCount = ({ choice }: RuleContext): number => Math.min(choice.cells, 0x1000);

/** Sends a long read and, in the same breath, another request; hears up to the end of the second. */
async function interruptRead(context: RuleContext, word: string, fields: string[]) {
  const { talk } = context;
  const [readSeq, otherSeq] = [talk.seq(), talk.seq()];
  const read = composeLine(readSeq, 'read', numbers(0, longCount(context)));
  await talk.tell(read + composeLine(otherSeq, word, fields));
  const lines: Answer[] = [];
  let other: Answer | null = null;
  while (!other) {
    const line = await talk.answer(word);
    if (line.seq === otherSeq) other = line;
    else if (line.seq === readSeq) lines.push(line);
    else broken('answers to these two requests', spoken(line));
  }
  return { readSeq, lines, other };
}

export const readRules: readonly ConformanceRule[] = [
  rule('4', 'registers tells a count', async ({ talk }) => {
    const { answer } = await talk.ask('registers');
    want(answer.word === 'ok' && answerFields('registers', answer.fields) !== null, '`ok n`', spoken(answer));
  }),
  rule('4', 'presence tells which data lines nobody drives, and refuses an empty socket', async ({ talk, part }) => {
    const { answer } = await talk.ask('presence', ['0']);
    if (answer.word === 'no' && !part) {
      wantNo(answer, refusalNumber.notDriven, ['FF']);
      return;
    }
    const mask = answer.word === 'ok' ? answerFields('presence', answer.fields)?.mask : undefined;
    if (mask === undefined) broken('`ok mask`', spoken(answer));
    want(mask !== 0xff, '`no A FF` when all eight lines follow the charge', spoken(answer));
  }),
  rule('4', 'read tells the cells in lines of at most C0 bytes, with their sum', async (context) => {
    const { cells } = context.choice;
    const ranges = [
      [0, 1],
      [0, 0xc0],
      [0, 0xc1],
      [3, 0x91],
      [cells - 1, 1],
      [0, Math.min(cells, 0x400)],
    ] as const;
    for (const [address, count] of ranges) await context.read(address, count);
  }),
  rule('5', 'what leaves the chip is refused', async ({ talk, choice: { cells } }) => {
    const requests: [string, number[]][] = [
      ['presence', [cells]],
      ['read', [cells, 1]],
      ['read', [cells - 1, 2]],
      ['read', [0, cells + 1]],
      ['read', [0xffffffff, 2]],
      ['read', [2, 0xffffffff]],
      ['sum', [cells - 0x40, 0x80, 0x40]],
    ];
    for (const [word, fields] of requests) {
      wantNo((await talk.ask(word, numbers(...fields))).answer, refusalNumber.outOfRange);
    }
  }),
  rule(
    '4',
    'sum tells the sum of each page, as read would',
    async (context) => {
      const count = Math.min(context.choice.cells, 0x600);
      const bytes = await context.read(0, count);
      for (const page of [0x40, 0x100]) {
        const { lines, answer } = await context.talk.ask('sum', numbers(0, count, page));
        let place = 0;
        for (const line of lines.slice(0, -1)) {
          if (line.word !== 'sums') return broken('a `sums` line', spoken(line));
          want(line.address === place, `a \`sums\` line for address ${fieldOfNumber(place)}`, spoken(line));
          want(line.sums.length <= protocolCounts.sumsPerLine, 'at most 8 sums in a line', `${line.sums.length}`);
          for (const sum of line.sums) {
            const wanted = crc32IsoHdlc(bytes.subarray(place, place + page));
            want(sum === wanted, `the sum ${fieldOfNumber(wanted)} at ${fieldOfNumber(place)}`, fieldOfNumber(sum));
            place += page;
          }
        }
        want(place === count, `${count / page} sums`, `${place / page}`);
        wantOk(answer, numbers(count / page));
      }
    },
    'chip',
  ),
  rule('4', 'sum takes whole pages only', async ({ talk }) => {
    wantNo((await talk.ask('sum', numbers(8, 0x40, 0x40))).answer, refusalNumber.badField, ['1']);
    wantNo((await talk.ask('sum', numbers(0, 0x48, 0x40))).answer, refusalNumber.badField, ['2']);
  }),
  rule('3', 'while a stream runs everything but stop is refused, and the stream is whole', async (context) => {
    const requests: [string, string[]][] = [
      ['echo', ['Zm9v']],
      ['who', []],
      ['registers', []],
      ['read', ['0', '1']],
    ];
    for (const [word, fields] of requests) {
      const { readSeq, lines, other } = await interruptRead(context, word, fields);
      wantNo(other, refusalNumber.busy);
      want(lines.at(-1)?.word !== 'ok', 'the refusal before the end of the stream', 'after it');
      const rest = await context.talk.exchange(readSeq, 'read');
      bytesOfRead({ ...rest, lines: [...lines, ...rest.lines] }, 0, longCount(context));
    }
  }),
  rule('4', 'stop ends a stream', async (context) => {
    const { lines, other } = await interruptRead(context, 'stop', []);
    wantOk(other);
    const most = longCount(context) / protocolCounts.dataBytes / 2;
    want(lines.length <= Math.max(2, most), 'the stream cut short', `${lines.length} lines of it`);
    await context.talk.probe();
  }),
];
