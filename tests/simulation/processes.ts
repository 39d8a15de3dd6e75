// The same program in as many processes as there are processors: each does its share, tells how far it is, and hands its result back.
import { fork } from 'node:child_process';
import { availableParallelism } from 'node:os';

/** Which share of the work this process does: every `of`-th item from the `index`-th. */
export interface Share {
  readonly index: number;
  readonly of: number;
}

type Message<Result> = { readonly done: number } | { readonly result: Result };

/** The share of this process where it was started by `inProcesses`, else null. */
export const ownShare = (): Share | null => {
  const text = process.env.ROMKILN_SHARE;
  return text && process.send ? (JSON.parse(text) as Share) : null;
};

/** Tells the first process how many items are done. */
export const tellDone = (done: number): void => {
  process.send?.({ done });
};

export const handBack = (result: unknown): Promise<void> =>
  new Promise((resolve) => {
    process.send?.({ result }, () => {
      process.disconnect();
      resolve();
    });
  });

function share<Result>(program: string, words: readonly string[], own: Share, told: (done: number) => void) {
  return new Promise<Result>((resolve, reject) => {
    const worker = fork(program, words, { env: { ...process.env, ROMKILN_SHARE: JSON.stringify(own) } });
    let result: { readonly result: Result } | null = null;
    worker.on('message', (message: Message<Result>) => {
      if ('result' in message) result = message;
      else told(message.done);
    });
    worker.on('exit', (code) =>
      result ? resolve(result.result) : reject(new Error(`broken promise: a process ended with ${code} and no result`)),
    );
  });
}

/** Runs `program` in several processes, with their progress on standard error at every tenth of `total`. */
export async function inProcesses<Result>(
  program: string,
  words: readonly string[],
  total: number,
  noun: string,
  jobs = availableParallelism(),
): Promise<Result[]> {
  const of = Math.max(1, Math.min(jobs, total));
  const doneOf = new Array<number>(of).fill(0);
  const begin = performance.now();
  let tenths = 0;
  return Promise.all(
    doneOf.map((_, index) =>
      share<Result>(program, words, { index, of }, (own) => {
        doneOf[index] = own;
        const done = doneOf.reduce((a, b) => a + b, 0);
        if (Math.floor((10 * done) / total) <= tenths) return;
        tenths = Math.floor((10 * done) / total);
        process.stderr.write(`${done} of ${total} ${noun}, ${Math.round((performance.now() - begin) / 1000)} s\n`);
      }),
    ),
  );
}
