// The one implementation of Files: the disk, with every write under a temporary name first.
import {
  accessSync,
  appendFileSync,
  closeSync,
  constants,
  existsSync,
  fstatSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readdirSync,
  readSync,
  realpathSync,
  renameSync,
  rmSync,
  statSync,
  writeSync,
} from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { ToolError } from '../ground/errors.js';
import type { Files } from '../ground/files.js';

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
};
const codeOf = (error: unknown): string => (error as { code?: string }).code ?? '';
const reasonOf = (error: unknown): string =>
  reasons[codeOf(error)] ?? `the system says ${codeOf(error) || String(error)}`;

const unreadable = (path: string, error: unknown): ToolError =>
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
    throw new ToolError('cli.file-unwritable', { path, reason: writeReason(path, error) }, { cause: error });
  }
}

function writeWhole(path: string, data: Uint8Array, synced: boolean): void {
  const file = openSync(path, 'wx', 0o666);
  try {
    for (let done = 0; done < data.length; ) done += writeSync(file, data, done);
    if (synced) fsyncSync(file);
  } finally {
    closeSync(file);
  }
}

/** A rename is on the disk only when its folder is. Windows cannot sync a folder, and needs not. */
function syncFolder(folder: string): void {
  if (process.platform === 'win32') return;
  const handle = openSync(folder, 'r');
  try {
    fsyncSync(handle);
  } finally {
    closeSync(handle);
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

/** Reads to the end: the size that the system tells is that of no device, and of no file that still grows. */
function readWhole(path: string): Uint8Array {
  const file = openSync(path, 'r');
  try {
    // One more than is said to be there, so that the end shows at once.
    let bytes = new Uint8Array(Math.min(fstatSync(file).size, readMostBytes) + 1);
    let total = 0;
    for (;;) {
      const count = readSync(file, bytes, total, bytes.length - total, null);
      if (count === 0) return bytes.slice(0, total);
      total += count;
      if (total > readMostBytes) throw new ToolError('cli.file-too-large', { path, mostBytes: readMostBytes });
      if (total === bytes.length) {
        const longer = new Uint8Array(Math.min(Math.max(2 * total, pieceBytes), readMostBytes + 1));
        longer.set(bytes);
        bytes = longer;
      }
    }
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

let temporaryCount = 0;

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
      return this.read(path);
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
    const synced = options?.synced ?? false;
    temporaryCount += 1;
    const temporary = join(dirname(path), `.${process.pid}-${temporaryCount}.tmp`);
    writing(path, () => {
      try {
        writeWhole(temporary, typeof data === 'string' ? Buffer.from(data, 'utf8') : data, synced);
        renameSync(temporary, path);
        if (synced) syncFolder(dirname(path));
      } catch (error) {
        rmSync(temporary, { force: true });
        throw error;
      }
    });
  },
  checkReplace(path) {
    const there = existsSync(path) ? statSync(path) : null;
    if (there && !there.isFile()) {
      const reason = there.isDirectory() ? 'it is a folder' : 'it is a device, no file';
      throw new ToolError('cli.file-unwritable', { path, reason });
    }
    // The dot tells a folder from a file of that name.
    writing(path, () => accessSync(`${dirname(path)}/.`, constants.W_OK));
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
  truePath(path) {
    try {
      return realpathSync(path);
    } catch {
      return resolve(path);
    }
  },
};
