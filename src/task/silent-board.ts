// A board on which no writer answers: is its boot loader there, with no firmware behind it?
import { ToolError } from '../ground/errors.js';
import type { ChosenPort } from './port-choice.js';
import type { Surroundings } from './surroundings.js';

const silences = ['writer.silent', 'writer.noise', 'writer.lost', 'conform.no-writer'] as const;

/**
 * Throws `error`, or, where it says that no writer answers and a boot loader does, loader.no-writer, which names `install`. The
 * port must be closed.
 */
export async function rethrowSilence(around: Surroundings, port: ChosenPort, error: unknown): Promise<never> {
  const isSilence = silences.some((code) => ToolError.is(error, code));
  if (port.benchFile !== null || !isSilence || around.interrupt.aborted) throw error;
  const { findBootLoader } = await import('../loader/boot-loader.js');
  // Whatever keeps the port from being opened again is not what the person asked about.
  const loader = await findBootLoader(around.openSerial, port.path).catch(() => null);
  if (loader === null) throw error;
  await loader.leave();
  await loader.link.close();
  throw new ToolError('loader.no-writer', { path: port.path, baud: loader.baud });
}
