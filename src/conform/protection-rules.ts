// Conformance, with a scratch chip: software data protection, and the block that did not take.
import { hex } from '../ground/byte-text.js';
import { fieldOfNumber } from '../protocol/field-kind.js';
import { composeLine } from '../protocol/line.js';
import { refusalNumber } from '../protocol/refusals.js';
import { broken, spoken, wantNo, wantOk } from './expectation.js';
import { blockFields, type ConformanceRule, type RuleContext, rule } from './rule.js';

/** A protected chip looks busy and keeps its byte: the writer must have seen that. */
async function refusedBlock(context: RuleContext, cell: number, was: number): Promise<void> {
  const wanted = was ^ 0x6e;
  const fields = [fieldOfNumber(cell), hex(wanted), hex(was)];
  const block = blockFields(cell, Uint8Array.of(wanted));
  const { answer } = await context.talk.ask('write', block, context.workMs(1));
  wantNo(answer, refusalNumber.mismatch, fields);
}

export const protectionRules: readonly ConformanceRule[] = [
  rule(
    '5',
    'a part without protection gets no codes',
    async (context) => {
      await context.choose({ protection: 'none' });
      for (const word of ['protect', 'unprotect']) {
        wantNo((await context.talk.ask(word, [], context.workMs(1))).answer, refusalNumber.noProtection);
      }
    },
    'scratch',
  ),
  rule(
    '4',
    'protect keeps blocks out, each on its own, and unprotect lets them in',
    async (context) => {
      const { talk } = context;
      const codes = async (word: 'protect' | 'unprotect'): Promise<void> =>
        wantOk((await talk.ask(word, [], context.workMs(1))).answer);
      const [first, second] = await context.read(0, 2);
      await codes('protect');
      await refusedBlock(context, 0, first!);
      // In one window: refused, equal, refused. One refusal does not stop the next.
      const seqs = [talk.seq(), talk.seq(), talk.seq()];
      const bytes = [first! ^ 1, second!, first! ^ 2];
      const lines = bytes.map((byte, i) => composeLine(seqs[i]!, 'write', blockFields(i & 1, Uint8Array.of(byte))));
      await talk.tell(lines.join(''));
      for (const [i, seq] of seqs.entries()) {
        const { answer } = await talk.exchange(seq, lines[i]!.slice(0, -6), context.workMs(1));
        if (i === 1) wantOk(answer);
        else wantNo(answer, refusalNumber.mismatch);
      }
      await context.wantCells(0, Uint8Array.of(first!, second!), 'after refused blocks');
      await codes('unprotect');
      await context.write(0, Uint8Array.of(first! ^ 0x6e));
    },
    'protection',
  ),
  rule(
    '3',
    'a repeat of a block that did not take is answered from memory',
    async (context) => {
      const { talk } = context;
      const [byte] = await context.read(0, 1);
      wantOk((await talk.ask('protect', [], context.workMs(1))).answer);
      const seq = talk.seq();
      const line = composeLine(seq, 'write', blockFields(0, Uint8Array.of(byte! ^ 0x55)));
      const say = async (): Promise<void> => {
        await talk.tell(line);
        wantNo((await talk.exchange(seq, line.slice(0, -6), context.workMs(1))).answer, refusalNumber.mismatch);
      };
      await say();
      wantOk((await talk.ask('unprotect', [], context.workMs(1))).answer);
      await say();
      await context.wantCells(0, Uint8Array.of(byte!), 'after a refused block was repeated');
    },
    'protection',
  ),
  rule(
    '4',
    'with protection 2 every block goes in, and the chip stays protected',
    async (context) => {
      const { talk } = context;
      const [byte] = await context.read(0, 1);
      wantOk((await talk.ask('protect', [], context.workMs(1))).answer);
      await context.choose({ protection: 'prefix' });
      for (const turn of [0x33, 0x44]) await context.write(0, Uint8Array.of(byte! ^ turn));
      await context.choose();
      await refusedBlock(context, 0, byte! ^ 0x44);
      const { answer } = await talk.ask('unprotect', [], context.workMs(1));
      if (answer.word !== 'ok') broken('`ok`', spoken(answer));
    },
    'protection',
  ),
];
