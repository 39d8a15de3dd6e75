// Time, handed in: real time for real ports, the bench's own for emulated ones.

export interface Clock {
  /** Milliseconds since some fixed moment; never decreases. */
  now(): number;
  /** Calls back once after `ms`; the returned function cancels it. */
  after(ms: number, callback: () => void): () => void;
}

/** Resolves after `ms` on that clock. */
export const pause = (clock: Clock, ms: number): Promise<void> =>
  new Promise((resolve) => {
    clock.after(ms, resolve);
  });
