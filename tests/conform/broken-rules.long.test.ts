// Every way in which the mock writer can be wrong is seen by the conformance suite, and the rule that it breaks says so.
import { describe, expect, test } from 'vitest';
import { conformanceRules } from '../../src/conform/conformance.js';
import { type BrokenRule, brokenRules } from '../mock/broken-rules.js';
import { conform } from './conform-mock.js';

const badLine = (why: string): string => `a bad line is refused: ${why}`;
const longLine = 'the longest line is taken, and one character more is too long';
const presence = 'presence tells which data lines nobody drives, and refuses an empty socket';
const fieldRange = 'a field that is malformed or out of range is refused with its index';
const spelling = 'every line is spelled as the page spells it';
const pageSums = 'sum tells the sum of each page, as read would';
const stop = 'stop drops the blocks that have not begun, and says so';
const idle = 'a writer that hears no good line for 3 s is back at 115200, held lines or not';
const window = 'the announced number of blocks is taken, and one more is refused';
const waiting = 'while blocks wait only write, who and stop are accepted';
const protect = 'protect keeps blocks out, each on its own, and unprotect lets them in';
const readLines = 'read tells the cells in lines of at most C0 bytes, with their sum';

/** The rule that must say what is wrong. */
const saidBy: Record<BrokenRule, string> = {
  'greets with a number': 'the greeting has number 00',
  'tells another nonce every time': 'the nonce stays the same until the next start',
  'answers an empty line': 'an empty line gets no answer',
  'keeps silent on a bad line': badLine('the check sequence does not fit'),
  'refuses a bad line with its number': badLine('the check sequence does not fit'),
  'takes any check sequence': 'a line with any one character changed is refused',
  'takes a lower-case check sequence': badLine('lower-case digits'),
  'takes a CR before LF': badLine('CR before LF'),
  'takes number 00': badLine('number 00 is no request'),
  'takes two spaces': badLine('two spaces'),
  'takes a number of one digit': badLine('the number has one digit'),
  'takes an upper-case word': badLine('the word is not in lower case'),
  'takes lower-case numbers': badLine('a lower-case digit in a number'),
  'takes numbers of nine digits': badLine('more than eight digits'),
  'refuses leading zeros': 'numbers are read with leading zeros',
  'takes base64 without padding': badLine('padding is missing'),
  'takes base64 with bits under the padding': badLine('bits under the padding are not zero'),
  'takes surplus fields': badLine('a surplus field'),
  'counts fields from 0': 'a missing or surplus field is refused with its index',
  'refuses the longest line': longLine,
  'takes a line too long': longLine,
  'calls a long line bad': longLine,
  'refuses a long line more than once': longLine,
  'calls an unknown word a bad line': 'an unknown word is refused with its number',
  'says leading zeros': spelling,
  'says lower-case digits': spelling,
  'says a wrong check sequence with sums': pageSums,
  'says CR before LF': spelling,
  'says sums without their zeros': spelling,
  'answers with the next number': 'an answer has the number of its request',
  'touches the chip before it was chosen': 'after a start nothing touches the chip before it is chosen',
  'takes any chip': fieldRange,
  'takes any length of cycle': fieldRange,
  'cuts an echo at 00': 'an echo brings the same bytes back',
  'takes any rate': 'a rate that is not announced is refused, and the old one stays',
  'refuses a rate that it announces': 'every announced rate works, and the way back',
  'never changes its rate': 'every announced rate works, and the way back',
  'stays at an untried rate': 'a rate at which nobody speaks is given up within 500 ms',
  'stays at a rate that nobody uses': idle,
  'takes held lines for work': idle,
  'takes an empty socket for a chip': presence,
  'reads beyond the chip': 'what leaves the chip is refused',
  'reads in lines too long': readLines,
  'sums bytes wrongly': readLines,
  'sums nine pages in a line': pageSums,
  'counts bytes where pages are asked': pageSums,
  'sums from the middle of a page': 'sum takes whole pages only',
  'takes requests while streaming': 'while a stream runs everything but stop is refused, and the stream is whole',
  'streams on after stop': 'stop ends a stream',
  'takes requests while blocks wait': waiting,
  'keeps silent about itself while blocks wait': 'while blocks wait who is answered at once',
  'holds one block less than it says': window,
  'takes one block too many': window,
  'writes blocks in another order': 'blocks are carried out in the order received',
  'drops blocks after a refused one': protect,
  'writes a repeated block twice': 'a repeat of a block that waits is absorbed',
  'remembers no block': 'a repeat of a block that is done is answered from memory',
  'forgets blocks that stop dropped': 'a repeat of a block that stop dropped is answered from memory',
  'forgets blocks that did not take': 'a repeat of a block that did not take is answered from memory',
  'remembers eight blocks': 'the last 16 blocks are remembered',
  'remembers blocks over another chip': 'chip clears the memory of blocks',
  'remembers blocks over a read': 'a read clears the memory of blocks',
  'remembers blocks by number alone': 'another block under the same number is no repeat',
  'takes blocks across a page': 'a block across a page, or larger than one, is refused and not written',
  'compares nothing': protect,
  'tells wanted and actual the wrong way round': protect,
  'writes equal cells': 'a cell that already holds its byte costs no cycle',
  'ends a cycle before its limit': 'with poll 0 the whole cycle is waited out',
  'writes on after stop': stop,
  'does not say which blocks were dropped': stop,
  'sends codes to a part without protection': 'a part without protection gets no codes',
  'says that it protects and does not': protect,
  'leaves out the protection prefix': 'with protection 2 every block goes in, and the chip stays protected',
  'holds levels that could write': 'hold refuses /WE low unless /CE is high',
  'does not drive held data': 'hold drives the data lines',
  'does not pull held data up': 'hold pulls released data lines up when asked',
  'answers too late': 'every answer begins within the announced silence',
};

/** What the socket must hold for a fault to show. */
const seated: Partial<Record<BrokenRule, string | null>> = {
  'writes equal cells': 'AT28C16',
  'takes an empty socket for a chip': null,
};

describe('a writer with one rule broken', () => {
  for (const name of Object.keys(brokenRules) as BrokenRule[]) {
    test(`when it ${name} then it does not pass, and the rule it breaks says so`, async () => {
      const part = name in seated ? seated[name]! : 'AT28C256';
      const { report, broken } = await conform(part, { broken: [name] });
      expect(report.conforms).toBe(false);
      expect(broken.map((result) => result.rule)).toContain(saidBy[name]);
      for (const result of broken) expect([result.wanted, result.seen].every((text) => text !== '')).toBe(true);
    });
  }

  test('when a broken rule names the rule that must say so then that rule is there', () => {
    const names = conformanceRules.map((rule) => rule.name);
    expect(Object.values(saidBy).filter((name) => !names.includes(name))).toEqual([]);
  });
});
