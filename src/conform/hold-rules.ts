// Conformance: lines held still, and the levels that must never be held.
import { answerFields } from '../protocol/codec.js';
import { fieldOfNumber } from '../protocol/field-kind.js';
import { refusalNumber } from '../protocol/refusals.js';
import { broken, spoken, want, wantNo, wantOk } from './expectation.js';
import { type ConformanceRule, type RuleContext, rule } from './rule.js';

/** Holds lines; the data lines as the writer read them. */
async function hold({ talk }: RuleContext, address: number, control: number, data: string): Promise<number> {
  const { answer } = await talk.ask('hold', [fieldOfNumber(address), fieldOfNumber(control), data]);
  const values = answer.word === 'ok' ? answerFields('hold', answer.fields) : null;
  return values?.bus ?? broken('`ok bus`', spoken(answer));
}

export const holdRules: readonly ConformanceRule[] = [
  rule('4', 'hold drives the data lines', async (context) => {
    for (const data of ['00', 'A5', '5A', 'FF']) {
      const bus = await hold(context, 0x1555, 7, data);
      want(bus === Number.parseInt(data, 16), `\`ok ${fieldOfNumber(Number.parseInt(data, 16))}\``, fieldOfNumber(bus));
    }
    wantOk((await context.talk.ask('stop')).answer);
  }),
  rule('4', 'hold pulls released data lines up when asked', async (context) => {
    await hold(context, 0, 7, '00');
    const bus = await hold(context, 0, 7, '+');
    want(bus === 0xff, '`ok FF`', `\`ok ${fieldOfNumber(bus)}\``);
  }),
  rule('4', 'hold takes every safe level', async (context) => {
    // /WE low with /CE high writes nothing; all others leave /WE high.
    for (const control of [3, 4, 5, 6, 7]) await hold(context, 0, control, '-');
    for (const control of [3, 6, 7]) await hold(context, 0, control, '55');
    wantOk((await context.talk.ask('stop')).answer);
  }),
  rule('4', 'hold refuses driven data together with /OE low', async ({ talk }) => {
    // With /CE high a writer that takes it by mistake does no harm.
    for (const control of ['5', '1']) {
      wantNo((await talk.ask('hold', ['0', control, '55'])).answer, refusalNumber.unsafeHold);
    }
  }),
  rule(
    '4',
    'hold refuses /WE low unless /CE is high',
    async ({ talk }) => {
      for (const [control, data] of [
        ['2', '-'],
        ['2', '55'],
        ['0', '-'],
        ['2', '+'],
      ] as const) {
        wantNo((await talk.ask('hold', ['0', control, data])).answer, refusalNumber.unsafeHold);
      }
    },
    'scratch',
  ),
  rule(
    '4',
    'hold shows the cell, and the next request parks the lines',
    async (context) => {
      const cells = await context.read(0, 0x10);
      for (const address of [0, 1, 0xf]) {
        const bus = await hold(context, address, 4, '-');
        want(bus === cells[address], `the cell's ${fieldOfNumber(cells[address]!)}`, fieldOfNumber(bus));
      }
      await hold(context, 0, 7, fieldOfNumber(~cells[0]! & 0xff).padStart(2, '0'));
      await context.wantCells(0, cells, 'after a hold');
    },
    'chip',
  ),
];
