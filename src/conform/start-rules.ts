// Conformance: how a writer starts, who it says it is, and that it leaves the chip alone at first.
import { protocolVersion } from '../protocol/limits.js';
import type { WriterLine } from '../protocol/message.js';
import { refusalNumber } from '../protocol/refusals.js';
import { broken, spoken, want, wantNo } from './expectation.js';
import { blockFields, type ConformanceRule, rule } from './rule.js';

const hex = (value: number): string => value.toString(16).toUpperCase();

/** Characters of `FF write FFFFFF <bytes> CCCC` with its LF. */
const writeLine = (bytes: number): number => 'FF write FFFFFF  CCCC\n'.length + 4 * Math.ceil(bytes / 3);

function wantSameWriter(first: WriterLine, second: WriterLine): void {
  want(second.nonce === first.nonce, `the nonce ${hex(first.nonce)} again`, hex(second.nonce));
  const rest = (line: WriterLine): string => JSON.stringify({ ...line, seq: 0 });
  want(rest(first) === rest(second), 'the same limits every time', 'others');
}

export const startRules: readonly ConformanceRule[] = [
  rule(
    '2',
    'the greeting has number 00',
    async ({ greeting }) => {
      if (greeting) want(greeting.seq === 0, 'number 00', spoken(greeting));
    },
    'fresh start',
  ),
  rule('2', 'the nonce stays the same until the next start', async ({ talk, writer }) => {
    wantSameWriter(writer, await talk.identify());
    wantSameWriter(writer, await talk.identify());
  }),
  rule('2', 'the announced limits fit each other', async ({ writer }) => {
    want(writer.version === protocolVersion, `version=${protocolVersion}`, `version=${hex(writer.version)}`);
    for (const key of ['slots', 'cells', 'echo', 'silenceMs'] as const) want(writer[key] > 0, `${key} above 0`, '0');
    const longest = Math.max(writeLine(Math.min(writer.store, 0x100)), writeLine(writer.cells), writeLine(writer.echo));
    want(
      writer.line >= longest,
      `a longest line of at least ${hex(longest)} for what else is announced`,
      hex(writer.line),
    );
    want(writer.store >= writer.cells, 'a store for at least one block of cells', hex(writer.store));
    want(writer.rates.includes(0x1c200), '1C200 among the rates', writer.rates.map(hex).join(','));
  }),
  rule(
    '2',
    'after a start nothing touches the chip before it is chosen',
    async ({ talk, scratch }) => {
      const requests: [string, string[]][] = [
        ['presence', ['0']],
        ['read', ['0', '1']],
        ['sum', ['0', '40', '40']],
      ];
      if (scratch) requests.push(['write', blockFields(0, Uint8Array.of(0))], ['protect', []], ['unprotect', []]);
      for (const [word, fields] of requests) {
        wantNo((await talk.ask(word, fields)).answer, refusalNumber.noChip);
      }
    },
    'fresh start',
  ),
];

/** Run after all others. */
export const endRules: readonly ConformanceRule[] = [
  rule('2', 'the writer did not restart while it was tried', async ({ talk, writer }) => {
    const now = await talk.identify();
    if (now.nonce !== writer.nonce) broken(`the nonce ${hex(writer.nonce)} of the beginning`, hex(now.nonce));
  }),
  rule('1', 'every line is spelled as the page spells it', async ({ talk }) => {
    if (talk.misspelt !== null)
      broken('no CR, no leading zeros, upper-case digits, sums with 8', `\`${talk.misspelt}\``);
  }),
  rule('2', 'every answer begins within the announced silence', async ({ talk }) => {
    const { latest } = talk;
    if (latest) broken(`at most ${talk.silenceMs} ms`, `${Math.round(latest.ms)} ms after \`${latest.request}\``);
  }),
];
