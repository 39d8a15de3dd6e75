// Conformance: what is a line, what is a bad one, and how the beat is found again.
import { withCheck } from '../protocol/line.js';
import { refusalNumber } from '../protocol/refusals.js';
import type { Conversation } from './conversation.js';
import { want, wantNo, wantOk } from './expectation.js';
import { type ConformanceRule, rule } from './rule.js';

/** A line that is not good, without its LF, and why. The table of firmware-protocol.md section 6. */
export const badLines: readonly { readonly line: string; readonly refusal: 1 | 4; readonly why: string }[] = [
  { line: '01 who 0000', refusal: 1, why: 'the check sequence does not fit' },
  { line: '01 who f23f', refusal: 1, why: 'lower-case digits' },
  { line: '01  who BFC7', refusal: 1, why: 'two spaces' },
  { line: '1 who C2AF', refusal: 1, why: 'the number has one digit' },
  { line: '00 who 586E', refusal: 1, why: 'number 00 is no request' },
  { line: '01 Who 74F9', refusal: 1, why: 'the word is not in lower case' },
  { line: 'who', refusal: 1, why: 'no number, no check sequence' },
  { line: '01 who F23F\r', refusal: 1, why: 'CR before LF' },
  { line: '01 echo Zm9= 276F', refusal: 4, why: 'bits under the padding are not zero' },
  { line: '01 echo Zm9 BAC6', refusal: 4, why: 'padding is missing' },
  { line: '01 read 0 123456789 25B4', refusal: 4, why: 'more than eight digits' },
  { line: '01 read 0 1a D1CA', refusal: 4, why: 'a lower-case digit in a number' },
  { line: '01 read 0 1 2 39B0', refusal: 4, why: 'a surplus field' },
];

/** Further lines without a valid form; each gets its one refusal like those of the table. */
const moreBadLines: readonly string[] = [
  ' ',
  '01',
  '0126',
  '01 who ',
  ' 01 who F23F',
  '01 who F23F ',
  '01 whoF23F',
  '01 who 0F23F',
  '01\twho 0000',
  withCheck('0g who').slice(0, -1),
  withCheck('01 echo Zm9v\x7f').slice(0, -1),
  withCheck('01 echo \xe4').slice(0, -1),
];

/** Says something that must be refused once, with number 00, and hears that nothing else comes. */
async function wantOneRefusal(talk: Conversation, text: string, refusal: number, shown: string): Promise<void> {
  await talk.tell(`${text}\n`);
  const answer = await talk.answer(shown);
  wantNo(answer, refusal);
  want(answer.seq === 0, 'number 00', `number ${answer.seq.toString(16).toUpperCase().padStart(2, '0')}`);
  await talk.probe();
}

export const lineRules: readonly ConformanceRule[] = [
  rule('1', 'an empty line gets no answer', async ({ talk }) => {
    await talk.tell('\n\n\n');
    await talk.probe();
  }),
  ...badLines.map(({ line, refusal, why }) =>
    rule('1', `a bad line is refused: ${why}`, async ({ talk }) => {
      if (refusal === 1) {
        await wantOneRefusal(talk, line, refusalNumber.badLine, line);
        return;
      }
      await talk.tell(`${line}\n`);
      const answer = await talk.answer(line);
      wantNo(answer, refusalNumber.badField);
      want(answer.seq === 1, 'number 01', `number ${answer.seq}`);
      await talk.probe();
    }),
  ),
  rule('1', 'every other line without a valid form is refused once', async ({ talk }) => {
    for (const line of moreBadLines) await wantOneRefusal(talk, line, refusalNumber.badLine, line);
  }),
  rule('5', 'the longest line is taken, and one character more is too long', async ({ talk, writer }) => {
    const lineOf = (size: number): string => withCheck(`01 sing ${'A'.repeat(size - '01 sing  CCCC\n'.length)}`);
    await talk.tell(lineOf(writer.line));
    wantNo(await talk.answer('a line of the longest size'), refusalNumber.unknownWord);
    for (const size of [writer.line + 1, writer.line + 40, 3 * writer.line]) {
      await wantOneRefusal(talk, lineOf(size).slice(0, -1), refusalNumber.tooLong, `a line of ${size} characters`);
    }
  }),
  rule('1', 'a line with any one character changed is refused', async ({ talk }) => {
    const line = withCheck('01 echo Zm9vYmFy').slice(0, -1);
    for (let place = 0; place < line.length; place++) {
      // Another bit at every place, but never one that makes a line end.
      const flipped = (line.charCodeAt(place) ^ (1 << (place % 8))) & 0xff;
      const code = flipped === 10 ? flipped ^ 1 : flipped;
      const changed = line.slice(0, place) + String.fromCharCode(code) + line.slice(place + 1);
      await wantOneRefusal(talk, changed, refusalNumber.badLine, changed);
    }
  }),
  rule('2', 'after noise the next line is understood', async ({ talk }) => {
    const noise = Array.from({ length: 90 }, (_, i) => String.fromCharCode((i * 73 + 29) & 0xff)).join('');
    await wantOneRefusal(talk, noise.replaceAll('\n', ''), refusalNumber.badLine, 'noise');
    await talk.tell(withCheck('7E echo Zm9v').slice(0, 9));
    await wantOneRefusal(talk, '', refusalNumber.badLine, 'the beginning of a line');
  }),
  rule('1', 'numbers are read with leading zeros', async (context) => {
    const { talk } = context;
    const padded = (fields: readonly string[]): string[] => fields.map((field) => field.padStart(8, '0'));
    wantOk((await talk.ask('rate', padded(['1C200']))).answer);
    wantOk((await talk.ask('chip', padded(context.chipFields()))).answer);
    wantOk((await talk.ask('read', padded(['0', '1']))).answer);
  }),
];
