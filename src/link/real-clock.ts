// Real time, for real ports: the one file of the tool that owns a timer of the operating system.
import type { Clock } from '../ground/clock.js';

/** The machine's own monotonic time. A pending callback keeps the process alive until it is called or cancelled. */
export const realClock: Clock = {
  now: () => Number(process.hrtime.bigint()) / 1e6,
  after(ms, callback) {
    const timer = setTimeout(callback, ms);
    return () => clearTimeout(timer);
  },
};
