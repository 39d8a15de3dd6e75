// Time for the mock: it passes only while the host waits for it, so the same run gives the same moments on any machine.
import type { Clock } from '../../src/ground/clock.js';

/** Gives the host its turn: calls back when everything that the host does without waiting for time is done. */
export type Turn = (callback: () => void) => void;

export interface VirtualClock extends Clock {
  /** Like `after`, for what the mock itself does: waiting for it alone does not let time pass. */
  within(ms: number, callback: () => void): () => void;
  /** To be called when the host was told something: its turn comes before time passes further. */
  hostHeard(): void;
}

interface Event {
  readonly atMs: number;
  readonly ofHost: boolean;
  readonly callback: () => void;
}

export function virtualClock(turn: Turn = setImmediate): VirtualClock {
  let nowMs = 0;
  /** By time, then by order of asking. */
  const events: Event[] = [];
  let hostWaits = 0;
  let running = false;
  let heard = false;

  const run = (): void => {
    heard = false;
    while (hostWaits > 0 && !heard) {
      const event = events.shift()!;
      nowMs = event.atMs;
      if (event.ofHost) {
        hostWaits--;
        heard = true;
      }
      event.callback();
    }
    running = false;
    wake();
  };

  const wake = (): void => {
    if (running || hostWaits === 0) return;
    running = true;
    turn(run);
  };

  const add = (ms: number, ofHost: boolean, callback: () => void): (() => void) => {
    const event = { atMs: nowMs + Math.max(0, ms), ofHost, callback };
    let place = events.length;
    while (place > 0 && events[place - 1]!.atMs > event.atMs) place--;
    events.splice(place, 0, event);
    if (ofHost) hostWaits++;
    wake();
    return () => {
      const found = events.indexOf(event);
      if (found < 0) return;
      events.splice(found, 1);
      if (ofHost) hostWaits--;
    };
  };

  return {
    now: () => nowMs,
    after: (ms, callback) => add(ms, true, callback),
    within: (ms, callback) => add(ms, false, callback),
    hostHeard: () => {
      heard = true;
    },
  };
}
