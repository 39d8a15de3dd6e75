// Conformance, with a scratch chip: single blocks, damaged ones, bad ones, and how long a cycle is waited for.
import { composeLine } from '../protocol/line.js';
import { refusalNumber } from '../protocol/refusals.js';
import { want, wantNo } from './expectation.js';
import { blockFields, type ConformanceRule, rule, slowCycleUs } from './rule.js';

/** Bytes that all differ from these. */
const others = (bytes: Uint8Array, turn = 0x5a): Uint8Array => bytes.map((byte, i) => byte ^ (turn | (i & 1)));

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
];
