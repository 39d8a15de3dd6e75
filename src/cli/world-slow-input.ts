// Reads what a person named as an input, whatever it is: a file at once, a pipe or a device as its bytes come, until Ctrl-C.
import { closeSync, constants, fstatSync, openSync, readSync } from 'node:fs';
import type { Clock } from '../ground/clock.js';
import { pause } from '../ground/clock.js';
import { ToolError } from '../ground/errors.js';
import { diskFiles, readMostBytes, unreadable } from './world-files.js';

const lookEachMs = 20;
const pieceBytes = 1 << 16;

/**
 * Polled, not awaited: a thread that waits inside the system's own read could not be called back, and would keep the
 * process from ending.
 */
export async function readInput(path: string, clock: Clock, interrupt: AbortSignal): Promise<Uint8Array> {
  if (['nothing', 'file', 'folder'].includes(diskFiles.standing(path).kind)) return diskFiles.read(path);
  let file: number;
  try {
    file = openSync(path, constants.O_RDONLY | (constants.O_NONBLOCK ?? 0));
  } catch (error) {
    throw unreadable(path, error);
  }
  try {
    return await readStream(path, file, clock, interrupt);
  } finally {
    closeSync(file);
  }
}

async function readStream(path: string, file: number, clock: Clock, interrupt: AbortSignal): Promise<Uint8Array> {
  const pieces: Uint8Array[] = [];
  let total = 0;
  // The end of a pipe by a name of its own looks like its beginning, before anybody writes there.
  const isNamedPipe = fstatSync(file).isFIFO() && !/^\/(dev|proc)\//.test(path);
  let begun = !isNamedPipe;
  for (;;) {
    if (interrupt.aborted) throw new ToolError('cli.interrupted', { doing: `reading ${path}` });
    const piece = new Uint8Array(pieceBytes);
    const count = readPiece(path, file, piece);
    if (count === 0 && begun) return Buffer.concat(pieces);
    // Somebody is there, though nothing has come yet.
    begun ||= count !== 0;
    if (count === null || count === 0) {
      await pause(clock, lookEachMs);
      continue;
    }
    pieces.push(piece.subarray(0, count));
    total += count;
    if (total > readMostBytes) throw new ToolError('cli.file-too-large', { path, mostBytes: readMostBytes });
  }
}

/** Null where nothing has come yet. */
function readPiece(path: string, file: number, into: Uint8Array): number | null {
  try {
    return readSync(file, into, 0, into.length, null);
  } catch (error) {
    if ((error as { code?: string }).code === 'EAGAIN') return null;
    throw unreadable(path, error);
  }
}
