// One request and its answer, with a deadline, repeated a bounded number of times.
import type { Answer, Request } from '../protocol/message.js';
import { refusalNumber } from '../protocol/refusals.js';
import { type Conversation, type Hearer, LossyRate, NoAnswer } from './conversation.js';
import { stillThere } from './greeting.js';
import { refusalFault } from './refusal-fault.js';

export interface Terms {
  /** What the chip may add to the writer's announced silence, milliseconds. */
  readonly chipMs?: number;
  /** How often the request is sent again. Default 3. */
  readonly retries?: number;
  /** A damaged line is taken for the answer, lost: no deadline is waited for. Nor is a silent writer searched for long. */
  readonly impatient?: boolean;
  /** Lines before the answer (`data`, `sums`), of the latest sending only. */
  readonly onLine?: (answer: Answer) => void;
  /** Aborting ends a stream: `stop` is sent and the exchange rejects with `signal.reason` when the stream has ended. */
  readonly signal?: AbortSignal | undefined;
}

type Positive = Answer & { word: 'ok' | 'writer' };

export const defaultRetries = 3;
/** Somebody else's work still runs in the writer: time until asking again, and how often. */
const busyPauseMs = 100;
const busyMost = 50;
/** Search lines in a silence, for a request with so many repeats: together about as long as the repeats would take. */
export const asksFor = (retries: number): number => 2 * (retries + 1);
/** Damaged lines one after the other that still count as a stream. */
const garbledMost = 20;

/**
 * Resolves with the `ok` or `writer` line. Rejects with NoAnswer, Restarted, or the ToolError of a refusal or a lost port.
 * Every repeat has a new number, so that a late line of an earlier sending is not taken for a new one.
 */
export function ask(conversation: Conversation, request: Request, terms: Terms = {}): Promise<Positive> {
  const { chipMs = 0, retries = defaultRetries, impatient = false, onLine, signal } = terms;
  const { clock } = conversation.link;
  return new Promise((resolve, reject) => {
    let sends = 0;
    let seq = 0;
    let busy = 0;
    let characters = 0;
    let garbledInARow = 0;
    let settled = false;
    let searching = false;
    let cancel = (): void => {};

    const finish = (settle: () => void): void => {
      settled = true;
      cancel();
      conversation.hear(null);
      signal?.removeEventListener('abort', interrupt);
      settle();
    };
    const wait = (ms: number, then: () => void): void => {
      cancel();
      cancel = clock.after(ms, then);
    };
    const longestLine = conversation.writer!.line;
    const waitForAnswer = (): void => {
      const before = conversation.linesHeard;
      wait(conversation.waitMs(characters + longestLine) + chipMs, () =>
        conversation.linesHeard === before && sends <= retries ? search() : again(),
      );
    };

    const send = (): void => {
      const composed = conversation.compose(request);
      seq = composed.seq;
      characters = composed.line.length;
      sends++;
      conversation.transmit(composed.line, sends > 1);
      waitForAnswer();
    };
    const again = (): void => {
      if (sends <= retries) send();
      else finish(() => reject(new NoAnswer()));
    };
    /** Nothing at all arrived: before anything else is said, somebody must answer the search line. */
    const search = (): void => {
      conversation.hear(null);
      searching = true;
      stillThere(conversation, impatient ? 1 : asksFor(retries)).then(
        (there) => {
          searching = false;
          if (!there) finish(() => reject(new NoAnswer()));
          else if (signal?.aborted) interrupt();
          else {
            conversation.hear(hearer);
            if (!settled) again();
          }
        },
        (error) => finish(() => reject(error)),
      );
    };
    const refused = (answer: Answer & { word: 'no' }): void => {
      // An earlier sending of ours may be streaming: its lines restart the wait, and the pause ends in another sending.
      if (answer.refusal === refusalNumber.busy && busy++ < busyMost) {
        wait(busyPauseMs, () => {
          sends--;
          send();
        });
        return;
      }
      const address = 'address' in request ? request.address : 0;
      finish(() => reject(refusalFault(conversation, request.word, answer, address)));
    };
    const leaveRate = (): void => finish(() => reject(new LossyRate()));
    const interrupt = (): void => {
      // A search ends first: whoever was reset in the meantime would take `stop` for something else.
      if (searching) return;
      finish(() => {
        ask(conversation, { word: 'stop' }).then(() => reject(signal?.reason), reject);
      });
    };

    if (signal?.aborted) {
      reject(signal.reason);
      return;
    }
    signal?.addEventListener('abort', interrupt);
    const hearer: Hearer = {
      answer(answer) {
        if (answer.seq !== seq) return;
        garbledInARow = 0;
        if (answer.word === 'no') refused(answer);
        else if (answer.word === 'ok' || answer.word === 'writer') finish(() => resolve(answer));
        else {
          onLine?.(answer);
          waitForAnswer();
        }
      },
      lineRefused: () => (conversation.isLossy ? leaveRate() : again()),
      garbled() {
        if (conversation.isLossy) leaveRate();
        else if (impatient) finish(() => reject(new NoAnswer()));
        // In a stream a sign of life: it goes on, and what is missing is asked for when it has ended. Endless noise is none.
        else if (onLine && garbledInARow++ < garbledMost) waitForAnswer();
      },
      failed: (error) => finish(() => reject(error)),
    };
    conversation.hear(hearer);
    if (!settled) send();
  });
}
