// Standard output and error of this process, and the end of it: what could not be written is said there.
import { printable } from '../ground/byte-text.js';
import { ToolError } from '../ground/errors.js';
import { worstExit } from '../ground/exit.js';
import type { Output } from './world.js';
import { reasonOf } from './world-files.js';

/** Why standard output took no more, if it did not. A reader that went away (`| head`) is no fault of anybody. */
let unwritten: Error | null = null;

const isReaderGone = (error: Error): boolean =>
  ['EPIPE', 'ERR_STREAM_DESTROYED'].includes((error as { code?: string }).code ?? '');

/** An output that fails ends, and not the work: what is written after that is dropped. */
export function outputOf(stream: NodeJS.WriteStream): Output {
  let gone = false;
  stream.on('error', (error) => {
    gone = true;
    if (stream === process.stdout && !isReaderGone(error)) unwritten ??= error;
  });
  return {
    write: (text) => {
      if (!gone) stream.write(text);
    },
    isTerminal: stream.isTTY === true,
    get columns() {
      return stream.columns ?? 80;
    },
  };
}

/**
 * Ends the process once all is written. By name: a terminal that still could be read, or a helper program that hangs, must
 * not keep a finished command alive.
 */
export function endProcess(exit: number): void {
  const end = (): void => {
    if (unwritten === null) process.exit(exit);
    const {
      message,
      note,
      code,
      exit: own,
    } = new ToolError('cli.output-lost', { reason: printable(reasonOf(unwritten)) });
    process.stderr.write(`romkiln: ${message}\n  ${note}  [${code}]\n`, () => process.exit(worstExit([exit, own])));
  };
  // What failed is told by an event of its own, after the writing.
  const afterEvents = (): void => void setImmediate(end);
  if (process.stdout.writableLength === 0) afterEvents();
  else process.stdout.write('', afterEvents);
}
