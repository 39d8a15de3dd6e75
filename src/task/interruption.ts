// Work that knows nothing of Ctrl-C, ended by it.
import { ToolError } from '../ground/errors.js';

/** The result of `work`, or cli.interrupted as soon as the person interrupts; the work itself then has to be closed by the caller. */
export async function unlessInterrupted<Result>(
  interrupt: AbortSignal,
  doing: string,
  work: Promise<Result>,
): Promise<Result> {
  // Whatever becomes of it once it was left.
  work.catch(() => {});
  let onAbort = (): void => {};
  const interrupted = new Promise<never>((_, reject) => {
    onAbort = () => reject(new ToolError('cli.interrupted', { doing }));
    if (interrupt.aborted) onAbort();
    else interrupt.addEventListener('abort', onAbort);
  });
  try {
    return await Promise.race([work, interrupted]);
  } finally {
    interrupt.removeEventListener('abort', onAbort);
  }
}
