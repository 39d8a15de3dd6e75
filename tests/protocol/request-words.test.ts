// The table of request words, held row by row to firmware-protocol.md section 4.
import { describe, expect, test } from 'vitest';
import { requestWords } from '../../src/protocol/request-words.js';
import { isRequestWord } from '../mock/request-reading.js';
import { tableOf } from './protocol-page.js';

const rows = tableOf('request', 'fields', 'lines before the answer', 'answer', 'meaning');

describe('request words', () => {
  test('when the page lists a request then the table has it, in the same order, and no other', () => {
    expect(Object.keys(requestWords)).toEqual(rows.map(([word]) => word));
  });

  for (const [word, fields, lines, answer] of rows) {
    test(`when ${word} is asked then fields, lines and answer are the page's`, () => {
      if (!isRequestWord(word!)) throw new Error(`${word} is no request word`);
      const row = requestWords[word];
      expect(row.fields.map((field) => field.name).join(' ')).toBe(fields);
      const shownLines = { data: 'data a b64', sums: 'sums a sum ...' };
      expect(row.lines === null ? '' : shownLines[row.lines]).toBe(lines);
      const ok = ['ok', ...row.ok.map((field) => field.name)].join(' ');
      expect(word === 'who' ? 'writer key=value ...' : ok).toBe(answer);
    });
  }

  test('when a word is none then it is not taken for one', () => {
    for (const word of ['', 'sing', 'Read', 'constructor', 'toString']) expect(isRequestWord(word)).toBe(false);
  });
});
