// Conformance: rates, and the way back to the greeting rate.
import { fieldOfNumber } from '../protocol/field-kind.js';
import { greetingBaud, protocolTimes } from '../protocol/limits.js';
import { refusalNumber } from '../protocol/refusals.js';
import { wantNo, wantOk } from './expectation.js';
import { type ConformanceRule, type RuleContext, rule } from './rule.js';

/** After the answer has arrived the writer needs a moment to change. */
const settleMs = 10;
/** What a writer's own clock may be off, and a little more. */
const slackMs = 250;

/** Asks for a rate; our end follows only when told to. */
async function changeRate({ talk }: RuleContext, baud: number, follow: boolean): Promise<void> {
  wantOk((await talk.ask('rate', [fieldOfNumber(baud)])).answer);
  await talk.pause(settleMs);
  if (follow) await talk.setRate(baud);
}

/** A rate that both ends can try; undefined when the writer announces none but the greeting rate. */
const otherRate = ({ writer }: RuleContext): number | undefined => writer.rates.find((baud) => baud !== greetingBaud);

export const rateRules: readonly ConformanceRule[] = [
  rule('4', 'every announced rate works, and the way back', async (context) => {
    for (const baud of context.writer.rates) {
      await changeRate(context, baud, true);
      for (let i = 0; i < 3; i++) await context.talk.probe();
      await changeRate(context, greetingBaud, true);
      await context.talk.probe();
    }
  }),
  rule('5', 'a rate that is not announced is refused, and the old one stays', async ({ talk, writer }) => {
    for (const baud of [9600, 38400, 12345, 0, 0xffffffff].filter((rate) => !writer.rates.includes(rate))) {
      wantNo((await talk.ask('rate', [fieldOfNumber(baud)])).answer, refusalNumber.badRate);
      await talk.probe();
    }
  }),
  rule('4', 'a rate at which nobody speaks is given up within 500 ms', async (context) => {
    const { talk } = context;
    const baud = otherRate(context);
    if (baud === undefined) return;
    await changeRate(context, baud, false);
    await talk.pause(protocolTimes.rateTrialMs + slackMs);
    await talk.probe();
  }),
  rule('2', 'a writer that hears no good line for 3 s is back at 115200, held lines or not', async (context) => {
    const { talk } = context;
    const baud = otherRate(context);
    if (baud === undefined) return;
    await changeRate(context, baud, true);
    wantOk((await talk.ask('hold', ['0', '7', '-'])).answer);
    await talk.setRate(greetingBaud);
    await talk.pause(protocolTimes.idleRateMs + slackMs);
    await talk.probe();
  }),
];
