// The one implementation of Files: the disk.
import {
  appendFileSync,
  closeSync,
  constants,
  existsSync,
  fstatSync,
  mkdirSync,
  openSync,
  readdirSync,
  readlinkSync,
  readSync,
  realpathSync,
  rmSync,
  type Stats,
  statSync,
} from 'node:fs';
import { dirname, resolve } from 'node:path';
import { ToolError } from '../ground/errors.js';
import type { Files, Standing } from '../ground/files.js';
import { checkPlace, endOfLinks, factsAt, isStandardOutput, writeTo } from './world-writing.js';

const reasons: Readonly<Record<string, string>> = {
  EACCES: 'permission denied',
  EPERM: 'not permitted',
  EISDIR: 'it is a folder',
  EEXIST: 'a file of that name is in the way',
  ENOENT: 'its folder does not exist',
  ENOTDIR: 'a part of its path is not a folder',
  ENOSPC: 'the disk is full',
  EROFS: 'the disk is read-only',
  EMFILE: 'too many files are open',
  ENXIO: 'nobody reads what is written there',
};
const codeOf = (error: unknown): string => (error as { code?: string }).code ?? '';
export const reasonOf = (error: unknown): string =>
  reasons[codeOf(error)] ?? `the system says ${codeOf(error) || String(error)}`;

export const unreadable = (path: string, error: unknown): ToolError =>
  codeOf(error) === 'ENOENT'
    ? new ToolError('cli.file-missing', { path })
    : new ToolError('cli.file-unreadable', { path, reason: reasonOf(error) });

/** A folder such as /proc is there and refuses new files with the code that else says that there is no folder. */
const writeReason = (path: string, error: unknown): string =>
  codeOf(error) === 'ENOENT' && existsSync(dirname(path)) ? 'its folder takes no new files' : reasonOf(error);

/** Says which path a write failed on, in words; nothing half-written stays behind. */
function writing<Result>(path: string, action: () => Result): Result {
  try {
    return action();
  } catch (error) {
    if (error instanceof ToolError) throw error;
    throw new ToolError('cli.file-unwritable', { path, reason: writeReason(path, error) }, { cause: error });
  }
}

/** Node's own recursive way never ends where a folder exists and refuses children with ENOENT, as /proc does (measured, 20.20). */
function makeFolderAndParents(path: string): void {
  if (existsSync(path) && statSync(path).isDirectory()) return;
  if (dirname(path) !== path) makeFolderAndParents(dirname(path));
  try {
    mkdirSync(path);
  } catch (error) {
    // Another process may have been quicker.
    if (codeOf(error) !== 'EEXIST' || !statSync(path).isDirectory()) throw error;
  }
}

/** No image, plan or record comes near it; a device such as /dev/zero has no end at all. */
export const readMostBytes = 100_000_000;
const pieceBytes = 1 << 16;

/** Reads to the end: the size that the system tells is not that of a file that still grows, or of one in /proc. */
function readWhole(path: string): Uint8Array {
  // Opened without waiting: a pipe that nobody writes would hold the program beyond any Ctrl-C.
  const file = openSync(path, constants.O_RDONLY | (constants.O_NONBLOCK ?? 0));
  try {
    const facts = fstatSync(file);
    if (!facts.isFile() && !facts.isDirectory())
      throw new ToolError('cli.file-unreadable', { path, reason: 'it is a pipe or a device, no file' });
    return readOpened(path, file, facts.size);
  } finally {
    closeSync(file);
  }
}

/** The end of a file, however long it is. */
function readLast(path: string, mostBytes: number): { bytes: Uint8Array; isWhole: boolean } {
  // A pipe without a writer would be waited for.
  const file = openSync(path, constants.O_RDONLY | (constants.O_NONBLOCK ?? 0));
  try {
    const found = fstatSync(file);
    if (!found.isFile()) throw new ToolError('cli.file-unreadable', { path, reason: 'it is no regular file' });
    const { size } = found;
    const bytes = new Uint8Array(Math.min(size, mostBytes));
    const start = size - bytes.length;
    let total = 0;
    for (let count = -1; total < bytes.length && count !== 0; total += count)
      count = readSync(file, bytes, total, bytes.length - total, start + total);
    return { bytes: bytes.subarray(0, total), isWhole: start === 0 };
  } finally {
    closeSync(file);
  }
}

function readOpened(path: string, file: number, size: number): Uint8Array {
  // One more than is said to be there, so that the end shows at once.
  let bytes = new Uint8Array(Math.min(size, readMostBytes) + 1);
  let total = 0;
  for (;;) {
    const count = readSync(file, bytes, total, bytes.length - total, null);
    if (count === 0) return bytes.slice(0, total);
    total += count;
    if (total > readMostBytes) throw new ToolError('cli.file-too-large', { path, mostBytes: readMostBytes });
    if (total === bytes.length) bytes = grown(bytes, total);
  }
}

function grown(bytes: Uint8Array, total: number): Uint8Array<ArrayBuffer> {
  const longer = new Uint8Array(Math.min(Math.max(2 * total, pieceBytes), readMostBytes + 1));
  longer.set(bytes);
  return longer;
}

function truePath(path: string): string {
  try {
    return realpathSync(path);
  } catch {
    return endOfLinks(path);
  }
}

function kindOf(facts: Stats): Standing['kind'] {
  if (facts.isDirectory()) return 'folder';
  if (isStandardOutput(facts)) return 'standard output';
  return facts.isFile() ? 'file' : 'stream';
}

function standing(path: string): Standing {
  try {
    const facts = factsAt(path);
    if (facts === null) return { kind: 'nothing', identity: truePath(path), names: 0 };
    const kind = kindOf(facts);
    // Where the system numbers no files, the one whole path has to do.
    const identity = facts.ino === 0 ? truePath(path) : `${facts.dev}:${facts.ino}`;
    return { kind, identity, names: facts.nlink };
  } catch (error) {
    throw unreadable(path, error);
  }
}

export const diskFiles: Files = {
  read(path) {
    try {
      return readWhole(path);
    } catch (error) {
      if (error instanceof ToolError) throw error;
      throw unreadable(path, error);
    }
  },
  readIfThere(path) {
    try {
      return diskFiles.read(path);
    } catch (error) {
      if (ToolError.is(error, 'cli.file-missing')) return null;
      throw error;
    }
  },
  readEnd(path, mostBytes) {
    try {
      return readLast(path, mostBytes);
    } catch (error) {
      if (codeOf(error) === 'ENOENT') return null;
      throw error instanceof ToolError ? error : unreadable(path, error);
    }
  },
  replace(path, data, options) {
    const bytes = typeof data === 'string' ? Buffer.from(data, 'utf8') : data;
    writing(path, () => writeTo(path, bytes, options?.synced ?? false));
  },
  checkReplace(path) {
    writing(path, () => checkPlace(path));
  },
  append(path, text) {
    writing(path, () => appendFileSync(path, text, { flush: true }));
  },
  makeFolder(path) {
    writing(path, () => makeFolderAndParents(resolve(path)));
  },
  list(path) {
    try {
      return readdirSync(path).sort();
    } catch (error) {
      if (codeOf(error) === 'ENOENT') return [];
      throw unreadable(path, error);
    }
  },
  remove(path) {
    writing(path, () => rmSync(path, { force: true }));
  },
  standing,
  linkAt(path) {
    try {
      return readlinkSync(path);
    } catch {
      return null;
    }
  },
  truePath,
};
