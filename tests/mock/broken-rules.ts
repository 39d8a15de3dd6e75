// Ways in which a writer can be wrong, one demand of firmware-protocol.md each: to show that the conformance suite sees them.
import { base64OfBytes, bytesOfBase64 } from '../../src/ground/byte-text.js';
import { withCheck } from '../../src/protocol/line.js';
import { refusalNumber } from '../../src/protocol/refusals.js';
import type { WriterRules } from './writer-rules.js';

/** An answer with its text changed and its check sequence made to fit again. */
const sayWith =
  (change: (text: string) => string): WriterRules['say'] =>
  (line) =>
    withCheck(change(line.slice(0, -5))).slice(0, -1);

/** A request with its text changed, where its check sequence had fitted. */
const hearWith =
  (change: (text: string) => string): WriterRules['hear'] =>
  (line) => {
    const text = line.slice(0, -5);
    return withCheck(text) === `${line}\n` ? withCheck(change(text)).slice(0, -1) : line;
  };

/** Fields of one word changed. */
const fieldsOf =
  (words: readonly string[], change: (field: string, index: number) => string) =>
  (text: string): string => {
    const [seq, word, ...fields] = text.split(' ');
    return words.includes(word!) ? [seq, word, ...fields.map(change)].join(' ') : text;
  };

/** Base64 as a careless decoder takes it, where `careless` says so. */
const looseBase64 =
  (careless: (field: string) => boolean) =>
  (field: string): string =>
    careless(field) && bytesOfBase64(field) === null && /^[\w+/]+=?=?$/.test(field)
      ? base64OfBytes(new Uint8Array(Buffer.from(field, 'base64')))
      : field;

const numberWords = ['read', 'sum', 'presence', 'chip', 'rate'];
const blockWords = ['write', 'echo'];

const table = {
  'greets with a number': { greetingSeq: 1 },
  'tells another nonce every time': { steadyNonce: false },
  'answers an empty line': { answersEmptyLine: true },
  'keeps silent on a bad line': { say: (line) => (line.startsWith('00 no 1 ') ? null : line) },
  'refuses a bad line with its number': { say: sayWith((text) => (text === '00 no 1' ? '01 no 1' : text)) },
  'takes any check sequence': { hear: (line) => withCheck(line.slice(0, -5)).slice(0, -1) },
  'takes a lower-case check sequence': { hear: (line) => line.slice(0, -4) + line.slice(-4).toUpperCase() },
  'takes a CR before LF': { hear: (line) => line.replace(/\r$/, '') },
  'takes number 00': { hear: hearWith((text) => text.replace(/^00 /, '01 ')) },
  'takes two spaces': { hear: hearWith((text) => text.replace(/ +/g, ' ')) },
  'takes a number of one digit': { hear: hearWith((text) => text.replace(/^(.) /, '0$1 ')) },
  'takes an upper-case word': {
    hear: hearWith((text) => text.replace(/^(.. )([A-Z]\w+)/, (_, seq, word) => seq + word.toLowerCase())),
  },
  'takes lower-case numbers': { hear: hearWith(fieldsOf(numberWords, (field) => field.toUpperCase())) },
  'takes numbers of nine digits': { hear: hearWith(fieldsOf(numberWords, (field) => field.slice(-8))) },
  'refuses leading zeros': { hear: hearWith(fieldsOf(numberWords, (field) => field.replace(/^0(?=.)/, 'x'))) },
  'takes base64 without padding': {
    hear: hearWith(
      fieldsOf(
        blockWords,
        looseBase64((field) => !field.endsWith('=')),
      ),
    ),
  },
  'takes base64 with bits under the padding': {
    hear: hearWith(
      fieldsOf(
        blockWords,
        looseBase64((field) => field.endsWith('=')),
      ),
    ),
  },
  'takes surplus fields': { hear: hearWith((text) => text.replace(/^(.. read \S+ \S+) .*/, '$1')) },
  'counts fields from 0': {
    say: sayWith((text) => text.replace(/ no 4 (\d)$/, (_, index) => ` no 4 ${Number(index) - 1}`)),
  },
  'refuses the longest line': { longestLine: (limit) => limit - 1 },
  'takes a line too long': { longestLine: (limit) => limit + 8 },
  'calls a long line bad': { refusalOfLongLine: 0x1 },
  'refuses a long line more than once': { refusalsOfLongLine: 3 },
  'calls an unknown word a bad line': { say: sayWith((text) => text.replace(/^.. no 3$/, '00 no 1')) },
  'says leading zeros': { say: sayWith(fieldsOf(['data', 'sums'], (field, i) => (i === 0 ? `0${field}` : field))) },
  'says lower-case digits': { say: (line) => line.slice(0, -4) + line.slice(-4).toLowerCase() },
  'says a wrong check sequence with sums': { say: (line) => line.replace(/^(.. sums .*)....$/, '$10000') },
  'says CR before LF': { say: (line) => `${line}\r` },
  'says sums without their zeros': { say: sayWith((text) => text.replace(/ (0+)(?=[1-9A-F]{1,7}$)/, ' ')) },
  'answers with the next number': {
    say: sayWith((text) => (text.startsWith('7F ') ? text.replace('7F', '80') : text)),
  },
  'touches the chip before it was chosen': { needsChip: false },
  'takes any chip': {
    hear: hearWith((text) => text.replace(/^(.. chip) 3000 /, '$1 2000 ').replace(/^(.. chip \S+) 30 /, '$1 40 ')),
  },
  'takes any length of cycle': { hear: hearWith((text) => text.replace(/^(.. chip \S+ \S+) 186A1 /, '$1 186A0 ')) },
  'cuts an echo at 00': {
    hear: hearWith((text) => text.replace(/^(.. echo) A\S*/, '$1 AA==')),
  },
  'takes any rate': { takesRate: () => true },
  'refuses a rate that it announces': { takesRate: (baud, rates) => rates.indexOf(baud) < 1 },
  'never changes its rate': { changesRate: false },
  'stays at an untried rate': { rateTrialMs: 1e9, idleRateMs: 1e9 },
  'stays at a rate that nobody uses': { idleRateMs: 1e9 },
  'takes held lines for work': { holdIsWork: true },
  'takes an empty socket for a chip': { seesEmptySocket: false },
  'reads beyond the chip': { refusesBeyondChip: false },
  'reads in lines too long': { dataBytes: 0xc8 },
  'sums bytes wrongly': { sumOf: (bytes) => bytes.reduce((sum, byte) => sum + byte, 0) },
  'sums nine pages in a line': { sumsPerLine: 9 },
  'counts bytes where pages are asked': { countsPages: false },
  'sums from the middle of a page': { refusesCrookedSums: false },
  'takes requests while streaming': { refusesWhileStreaming: false },
  'streams on after stop': { stopsStream: false },
  'takes requests while blocks wait': { refusesWhileBlocksWait: false },
  'keeps silent about itself while blocks wait': { identifiesWhileBlocksWait: false },
  'holds one block less than it says': { window: (limits) => limits.slots - 1 },
  'takes one block too many': { window: (limits) => limits.slots + 1 },
  'writes blocks in another order': { keepsOrder: false },
  'drops blocks after a refused one': { eachBlockOnItsOwn: false },
  'writes a repeated block twice': { absorbsRepeats: false },
  'remembers no block': { rememberedBlocks: 0 },
  'remembers eight blocks': { rememberedBlocks: 8 },
  'forgets blocks that stop dropped': { remembers: (refusal) => refusal !== refusalNumber.stopped },
  'forgets blocks that did not take': { remembers: (refusal) => refusal !== refusalNumber.mismatch },
  'remembers blocks over another chip': { clearsMemory: (word) => word === 'read' },
  'remembers blocks over a read': { clearsMemory: (word) => word === 'chip' },
  'remembers blocks by number alone': { memoryLooksAtCheck: false },
  'takes blocks across a page': { refusesBadBlocks: false },
  'compares nothing': { compares: false },
  'tells wanted and actual the wrong way round': {
    say: sayWith((text) => text.replace(/( no C \S+) (..) (..)$/, '$1 $3 $2')),
  },
  'writes equal cells': { skipsEqualCells: false },
  'ends a cycle before its limit': { waitsOutLimit: false },
  'writes on after stop': { dropsBlocksAtStop: false },
  'does not say which blocks were dropped': { saysDropped: false },
  'sends codes to a part without protection': { refusesCodesWithoutProtection: false },
  'says that it protects and does not': { sendsCodes: false },
  'leaves out the protection prefix': { sendsPrefix: false },
  'holds levels that could write': { refusesUnsafeHold: false },
  'does not drive held data': { drivesHeldData: false },
  'does not pull held data up': { pullsHeldData: false },
  'answers too late': { answerDelayMs: 900 },
} as const satisfies Record<string, Partial<WriterRules>>;

export type BrokenRule = keyof typeof table;
export const brokenRules: { readonly [Name in BrokenRule]: Partial<WriterRules> } = table;
