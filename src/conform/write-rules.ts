// Conformance, with a scratch chip: single blocks, damaged ones, bad ones, and protection.
import { hex } from '../ground/byte-text.js';
import { fieldOfNumber } from '../protocol/field-kind.js';
import { composeLine } from '../protocol/line.js';
import { refusalNumber } from '../protocol/refusals.js';
import { broken, spoken, want, wantNo, wantOk } from './expectation.js';
import { blockFields, type ConformanceRule, type RuleContext, rule, slowCycleUs } from './rule.js';

/** Bytes that all differ from these. */
const others = (bytes: Uint8Array, turn = 0x5a): Uint8Array => bytes.map((byte, i) => byte ^ (turn | (i & 1)));

/** A protected chip looks busy and keeps its byte: the writer must have seen that. */
async function refusedBlock(context: RuleContext, cell: number, was: number): Promise<void> {
  const wanted = was ^ 0x6e;
  const fields = [fieldOfNumber(cell), hex(wanted), hex(was)];
  const block = blockFields(cell, Uint8Array.of(wanted));
  const { answer } = await context.talk.ask('write', block, context.workMs(1));
  wantNo(answer, refusalNumber.mismatch, fields);
}

export const writeRules: readonly ConformanceRule[] = [
  rule(
    '4',
    'a block is written where it belongs and nowhere else',
    async (context) => {
      const { page } = context.choice;
      const area = await context.read(0, context.areaCells);
      const most = page === 1 ? Math.min(context.writer.cells, 0x20) : page;
      for (const [address, count] of [
        [0, most],
        [5, 1],
        [most - 3, 3],
        [most, Math.min(most, 7)],
      ] as const) {
        const bytes = others(area.subarray(address, address + count));
        await context.write(address, bytes);
        area.set(bytes, address);
        await context.wantCells(0, area, 'after a block');
      }
    },
    'scratch',
  ),
  rule(
    '1',
    'a damaged block is not written',
    async (context) => {
      const { talk } = context;
      const cells = await context.read(0, 4);
      const line = composeLine(talk.seq(), 'write', blockFields(0, others(cells)));
      await talk.tell(line.replace(' write 0 ', ' write 1 '));
      wantNo(await talk.answer('a damaged block'), refusalNumber.badLine);
      await talk.probe();
      await context.wantCells(0, cells, 'after a damaged block');
    },
    'scratch',
  ),
  rule(
    '5',
    'a block across a page, or larger than one, is refused and not written',
    async (context) => {
      const { talk, choice, writer } = context;
      const { page } = choice;
      const area = await context.read(0, context.areaCells);
      const blocks =
        page === 1
          ? [[0, writer.cells + 1]]
          : [
              [page - 1, 2],
              [1, page],
              [0, page + 1],
            ];
      for (const [address, count] of blocks as [number, number][]) {
        const bytes = others(area.subarray(address, address + count));
        wantNo(
          (await talk.ask('write', blockFields(address, bytes), context.workMs(count))).answer,
          refusalNumber.badBlock,
        );
      }
      const beyond = blockFields(choice.cells, Uint8Array.of(0));
      wantNo((await talk.ask('write', beyond)).answer, refusalNumber.outOfRange);
      await context.wantCells(0, area, 'after refused blocks');
    },
    'scratch',
  ),
  rule(
    '4',
    'with poll 0 the whole cycle is waited out',
    async (context) => {
      const { talk } = context;
      await context.chooseSlow();
      const [byte] = await context.read(0, 1);
      const startMs = talk.link.clock.now();
      await context.write(0, Uint8Array.of(byte! ^ 0x11));
      const tookMs = talk.link.clock.now() - startMs;
      want(tookMs >= slowCycleUs / 1000, `at least ${slowCycleUs / 1000} ms`, `${tookMs.toFixed(1)} ms`);
    },
    'scratch',
  ),
  rule(
    '4',
    'a cell that already holds its byte costs no cycle',
    async (context) => {
      const { talk } = context;
      await context.chooseSlow();
      const cells = await context.read(0, 8);
      const startMs = talk.link.clock.now();
      await context.write(0, cells);
      const tookMs = talk.link.clock.now() - startMs;
      // Eight cycles would take 400 ms.
      want(tookMs < (4 * slowCycleUs) / 1000, 'an answer without waiting', `one after ${tookMs.toFixed(0)} ms`);
    },
    'cell by cell',
  ),
  rule(
    '5',
    'a cycle that outlasts its limit is told as never ready',
    async (context) => {
      const { talk, part } = context;
      const [byte] = await context.read(0, 1);
      // No part is done one microsecond after its load window.
      await context.choose({ cycleUs: 1, poll: 'toggle' });
      const { answer } = await talk.ask('write', blockFields(0, Uint8Array.of(byte! ^ 0x24)));
      await talk.pause(2 + (2 * part!.cycleMaxUs.value) / 1000);
      wantNo(answer, refusalNumber.neverReady, ['0']);
    },
    'toggle bit',
  ),
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
