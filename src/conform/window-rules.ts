// Conformance, with a scratch chip: several blocks outstanding, repeated ones, and stop.
import { protocolCounts, windowOf } from '../protocol/limits.js';
import { composeLine } from '../protocol/line.js';
import type { Answer } from '../protocol/message.js';
import { refusalNumber } from '../protocol/refusals.js';
import { broken, spoken, want, wantNo, wantOk } from './expectation.js';
import { blockFields, type ConformanceRule, type RuleContext, rule } from './rule.js';

interface SentBlock {
  readonly seq: number;
  readonly line: string;
}

/** A block of one cell under a new number, or the one given. */
function block({ talk }: RuleContext, cell: number, byte: number, seq = talk.seq()): SentBlock {
  return { seq, line: composeLine(seq, 'write', blockFields(cell, Uint8Array.of(byte))) };
}

/** Says lines in one breath, hears this many answers. */
async function sayTogether(context: RuleContext, lines: readonly string[], answers: number): Promise<Answer[]> {
  await context.talk.tell(lines.join(''));
  const heard: Answer[] = [];
  while (heard.length < answers) heard.push(await context.talk.answer('blocks', context.workMs(1)));
  return heard;
}

/** One block at a time, each `ok`. */
async function writeOne(context: RuleContext, sent: SentBlock): Promise<void> {
  const [answer] = await sayTogether(context, [sent.line], 1);
  want(answer!.seq === sent.seq, `the answer to \`${sent.line.slice(0, -6)}\``, spoken(answer!));
  wantOk(answer!);
}

const scratchRule = (section: ConformanceRule['section'], name: string, run: ConformanceRule['run']): ConformanceRule =>
  rule(section, name, run, 'scratch');

export const windowRules: readonly ConformanceRule[] = [
  scratchRule('3', 'the announced number of blocks is taken, and one more is refused', async (context) => {
    await context.chooseSlow();
    const size = windowOf(context.writer, context.choice.page);
    const cells = await context.read(0, size + 1);
    const blocks = Array.from(cells, (byte, cell) => block(context, cell, byte ^ 0x17));
    const answers = await sayTogether(
      context,
      blocks.map(({ line }) => line),
      size + 1,
    );
    for (const [i, { seq, line }] of blocks.entries()) {
      const answer = answers.find((other) => other.seq === seq) ?? broken(`an answer to \`${line.trim()}\``, 'none');
      if (i < size) wantOk(answer);
      else wantNo(answer, refusalNumber.windowFull);
    }
    await context.wantCells(
      0,
      cells.map((byte, cell) => (cell < size ? byte ^ 0x17 : byte)),
      'after a full window',
    );
  }),
  scratchRule('3', 'blocks are carried out in the order received', async (context) => {
    await context.chooseSlow();
    const size = Math.min(4, windowOf(context.writer, context.choice.page));
    const [byte] = await context.read(0, 1);
    const blocks = Array.from({ length: size }, (_, i) => block(context, 0, byte! ^ (i + 1)));
    const answers = await sayTogether(
      context,
      blocks.map(({ line }) => line),
      size,
    );
    const order = (list: readonly { readonly seq: number }[]): string => list.map(({ seq }) => seq).join(', ');
    want(order(answers) === order(blocks), `answers to ${order(blocks)}`, order(answers));
    for (const answer of answers) wantOk(answer);
    await context.wantCells(0, Uint8Array.of(byte! ^ size), 'after several blocks for one cell');
  }),
  scratchRule('3', 'while blocks wait only write, who and stop are accepted', async (context) => {
    const { talk } = context;
    const words: [string, string[]][] = [
      ['echo', ['Zg==']],
      ['registers', []],
      ['read', ['0', '1']],
      ['sum', ['0', '40', '40']],
      ['presence', ['0']],
      ['hold', ['0', '7', '-']],
    ];
    for (const [word, fields] of words) {
      await context.chooseSlow();
      const [byte] = await context.read(0, 1);
      const sent = block(context, 0, byte! ^ 0x21);
      const seq = talk.seq();
      const answers = await sayTogether(context, [sent.line, composeLine(seq, word, fields)], 2);
      const refused = answers.find((answer) => answer.seq === seq) ?? broken(`an answer to \`${word}\``, 'none');
      wantNo(refused, refusalNumber.busy);
      wantOk(answers.find((answer) => answer.seq === sent.seq) ?? broken('an answer to the block', 'none'));
    }
  }),
  scratchRule('3', 'while blocks wait who is answered at once', async (context) => {
    const { talk } = context;
    await context.chooseSlow();
    const [byte] = await context.read(0, 1);
    const sent = block(context, 0, byte! ^ 0x22);
    const seq = talk.seq();
    const [first, second] = await sayTogether(context, [sent.line, composeLine(seq, 'who', [])], 2);
    want(first!.word === 'writer' && first!.seq === seq, 'the `writer` line before the block is done', spoken(first!));
    wantOk(second!);
  }),
  scratchRule('3', 'a damaged line between blocks harms no other', async (context) => {
    await context.chooseSlow();
    const [first, second, third] = await context.read(0, 3);
    const blocks = [first!, second!, third!].map((byte, cell) => block(context, cell, byte ^ 0x42));
    const lines = blocks.map(({ line }, i) => (i === 1 ? line.replace(' write 1 ', ' write 2 ') : line));
    const answers = await sayTogether(context, lines, 3);
    wantNo(answers.find((answer) => answer.seq === 0) ?? broken('`00 no 1`', 'none'), refusalNumber.badLine);
    for (const i of [0, 2]) {
      wantOk(
        answers.find((answer) => answer.seq === blocks[i]!.seq) ?? broken('an answer to every good block', 'none'),
      );
    }
    await context.wantCells(0, Uint8Array.of(first! ^ 0x42, second!, third! ^ 0x42), 'after a damaged line');
    await writeOne(context, blocks[1]!);
    await context.wantCells(1, Uint8Array.of(second! ^ 0x42), 'after it was sent again');
  }),
  scratchRule('3', 'a repeat of a block that waits is absorbed', async (context) => {
    await context.chooseSlow();
    const cells = await context.read(0, 2);
    const [first, second] = [block(context, 0, cells[0]! ^ 0x18), block(context, 1, cells[1]! ^ 0x18)];
    const answers = await sayTogether(context, [first.line, second.line, first.line, second.line, second.line], 2);
    for (const answer of answers) wantOk(answer);
    await context.talk.probe();
  }),
  scratchRule('3', 'a repeat of a block that is done is answered from memory', async (context) => {
    const [byte] = await context.read(0, 1);
    const first = block(context, 0, byte! ^ 0x01);
    await writeOne(context, first);
    await writeOne(context, block(context, 0, byte! ^ 0x02));
    await writeOne(context, first);
    await context.wantCells(0, Uint8Array.of(byte! ^ 0x02), 'after the block before it was repeated');
  }),
  scratchRule('3', 'a repeat of a block that stop dropped is answered from memory', async (context) => {
    const { talk } = context;
    await context.chooseSlow();
    const size = Math.min(4, windowOf(context.writer, context.choice.page));
    const cells = await context.read(0, size);
    const blocks = Array.from(cells, (byte, cell) => block(context, cell, byte ^ 0x84));
    const stop = composeLine(talk.seq(), 'stop', []);
    const answers = await sayTogether(context, [...blocks.map(({ line }) => line), stop], size + 1);
    const cell = blocks.findLastIndex(({ seq }) => answers.some((a) => a.seq === seq && a.word === 'no'));
    // A writer with a small window may have begun all of them.
    if (cell < 0) return;
    const [again] = await sayTogether(context, [blocks[cell]!.line], 1);
    wantNo(again!, refusalNumber.stopped);
    await context.wantCells(cell, cells.slice(cell, cell + 1), 'after a dropped block was repeated');
  }),
  scratchRule('3', 'the last 16 blocks are remembered', async (context) => {
    const cells = await context.read(0, protocolCounts.rememberedBlocks);
    const first = block(context, 0, cells[0]! ^ 0x01);
    await writeOne(context, first);
    for (let cell = 1; cell < cells.length - 1; cell++) await writeOne(context, block(context, cell, cells[cell]! ^ 1));
    await writeOne(context, block(context, 0, cells[0]! ^ 0x02));
    await writeOne(context, first);
    await context.wantCells(0, Uint8Array.of(cells[0]! ^ 0x02), 'after the first of the last 16 blocks was repeated');
  }),
  scratchRule('3', 'chip clears the memory of blocks', async (context) => {
    const [byte] = await context.read(0, 1);
    const first = block(context, 0, byte! ^ 0x04);
    await writeOne(context, first);
    await writeOne(context, block(context, 0, byte! ^ 0x08));
    await context.choose();
    await writeOne(context, first);
    await context.wantCells(0, Uint8Array.of(byte! ^ 0x04), 'after `chip` and a block sent again');
  }),
  scratchRule('3', 'a read clears the memory of blocks', async (context) => {
    const [byte] = await context.read(0, 1);
    const first = block(context, 0, byte! ^ 0x04);
    await writeOne(context, first);
    await writeOne(context, block(context, 0, byte! ^ 0x08));
    await context.read(0, 1);
    await writeOne(context, first);
    await context.wantCells(0, Uint8Array.of(byte! ^ 0x04), 'after a read, when a number came round again');
  }),
  scratchRule('3', 'another block under the same number is no repeat', async (context) => {
    const [byte] = await context.read(0, 1);
    const seq = context.talk.seq();
    await writeOne(context, block(context, 0, byte! ^ 0x10, seq));
    await writeOne(context, block(context, 0, byte! ^ 0x20, seq));
    await context.wantCells(0, Uint8Array.of(byte! ^ 0x20), 'after another block under the same number');
  }),
  scratchRule('4', 'stop drops the blocks that have not begun, and says so', async (context) => {
    const { talk } = context;
    await context.chooseSlow();
    const size = Math.min(6, windowOf(context.writer, context.choice.page));
    const cells = await context.read(0, size);
    const blocks = Array.from(cells, (byte, cell) => block(context, cell, byte ^ 0x81));
    const stop = talk.seq();
    const lines = [...blocks.map(({ line }) => line), composeLine(stop, 'stop', [])];
    const answers = await sayTogether(context, lines, size + 1);
    wantOk(answers.find((answer) => answer.seq === stop) ?? broken('an answer to `stop`', 'none'));
    let dropped = 0;
    const wanted = cells.map((byte, cell) => {
      const answer = answers.find(({ seq }) => seq === blocks[cell]!.seq) ?? broken('an answer to every block', 'none');
      if (answer.word === 'ok') return byte ^ 0x81;
      wantNo(answer, refusalNumber.stopped);
      dropped++;
      return byte;
    });
    want(dropped >= size - 2, 'all blocks but the first dropped', `${dropped} of ${size}`);
    await talk.probe();
    await context.wantCells(0, wanted, 'after `stop`');
  }),
];
