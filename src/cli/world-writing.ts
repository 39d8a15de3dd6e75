// How bytes come to stand at a path: a regular file is replaced whole, a link is written through, a device or pipe is written to.
import {
  accessSync,
  chmodSync,
  chownSync,
  closeSync,
  constants,
  fstatSync,
  fsyncSync,
  lstatSync,
  openSync,
  readdirSync,
  readlinkSync,
  renameSync,
  rmSync,
  type Stats,
  statSync,
  writeSync,
} from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { ToolError } from '../ground/errors.js';

/** What a write to a path would meet. */
type WritePlace =
  | { readonly kind: 'new'; readonly path: string }
  | { readonly kind: 'file'; readonly path: string; readonly facts: Stats }
  | { readonly kind: 'stream'; readonly path: string }
  | { readonly kind: 'standard output' };

const codeOf = (error: unknown): string => (error as { code?: string }).code ?? '';

/** The facts of what stands at a path, links followed; null where nothing does. */
export function factsAt(path: string): Stats | null {
  try {
    return statSync(path);
  } catch (error) {
    if (codeOf(error) === 'ENOENT') return null;
    throw error;
  }
}

/** Links to links: the system itself gives up at 40. */
const linksMost = 40;

/** The path at the end of all links, whether anything stands there or not. */
export function endOfLinks(path: string): string {
  let at = resolve(path);
  for (let left = linksMost; left > 0; left--) {
    let target: string;
    try {
      target = readlinkSync(at);
    } catch {
      return at;
    }
    at = resolve(dirname(at), target);
  }
  return at;
}

const sameFile = (a: Stats, b: Stats): boolean => a.ino !== 0 && a.ino === b.ino && a.dev === b.dev;

export function isStandardOutput(facts: Stats): boolean {
  try {
    return sameFile(facts, fstatSync(1));
  } catch {
    return false;
  }
}

const refuse = (path: string, reason: string): ToolError => new ToolError('cli.file-unwritable', { path, reason });

/** Also for root, whom the system lets write what its owner has set to read-only. */
const isReadOnly = (facts: Stats): boolean => (facts.mode & 0o222) === 0;

/** Throws cli.file-unwritable where what stands there must not or cannot be written. */
function writePlace(path: string): WritePlace {
  const facts = factsAt(path);
  if (facts === null) return { kind: 'new', path: endOfLinks(path) };
  if (facts.isDirectory()) throw refuse(path, 'it is a folder');
  // Named through the system's own links (/dev/stdout), it has to follow what is shown there, not to take its place.
  if (isStandardOutput(facts)) return { kind: 'standard output' };
  if (facts.isSocket()) throw refuse(path, 'it is a socket');
  if (!facts.isFile()) return { kind: 'stream', path };
  if (isReadOnly(facts)) throw refuse(path, 'it is read-only');
  const end = endOfLinks(path);
  accessSync(end, constants.W_OK);
  return { kind: 'file', path: end, facts };
}

/** Throws what writing would, as far as that can be told beforehand. */
export function checkPlace(path: string): void {
  const place = writePlace(path);
  // The dot tells a folder from a file of that name.
  if (place.kind === 'new' || place.kind === 'file') accessSync(`${dirname(place.path)}/.`, constants.W_OK);
}

export function writeTo(path: string, data: Uint8Array, synced: boolean): void {
  const place = writePlace(path);
  if (place.kind === 'standard output') writeAll(1, data, path);
  else if (place.kind === 'stream') writeStream(place.path, data);
  else replaceFile(place.path, data, synced, place.kind === 'file' ? place.facts : null);
}

/** So long nobody takes a byte before the other end counts as stuck. */
const patience = { eachMs: 10, tries: 500 };

/** Standing still is right here: nothing else goes on while a file is written. */
const standStill = (ms: number): void => void Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, ms);

function writeAll(file: number, data: Uint8Array, path: string): void {
  let triesLeft = patience.tries;
  for (let done = 0; done < data.length; ) {
    try {
      done += writeSync(file, data, done);
      triesLeft = patience.tries;
    } catch (error) {
      if (codeOf(error) !== 'EAGAIN') throw error;
      if (triesLeft-- === 0) throw refuse(path, 'nobody reads what is written there');
      standStill(patience.eachMs);
    }
  }
}

function writeStream(path: string, data: Uint8Array): void {
  // Without O_NONBLOCK a pipe that nobody reads would hold the program beyond any Ctrl-C. Nothing is made or cut here.
  const file = openSync(path, constants.O_WRONLY | (constants.O_NONBLOCK ?? 0));
  try {
    writeAll(file, data, path);
  } finally {
    closeSync(file);
  }
}

const temporaryName = /^\.romkiln-[0-9a-f]{16}\.tmp$/;
const unforeseen = (): string => Buffer.from(crypto.getRandomValues(new Uint8Array(8))).toString('hex');
const staleMs = 3_600_000;
const cleared = new Set<string>();

/** What a killed run left behind over an hour ago. Once a run and folder: a bench is written after every write cycle. */
function clearStale(folder: string): void {
  if (cleared.has(folder)) return;
  cleared.add(folder);
  try {
    for (const name of readdirSync(folder)) {
      if (!temporaryName.test(name)) continue;
      const path = join(folder, name);
      if (Date.now() - lstatSync(path).mtimeMs > staleMs) rmSync(path, { force: true });
    }
  } catch {
    // Somebody else's, or gone meanwhile: it is in nobody's way.
  }
}

function replaceFile(path: string, data: Uint8Array, synced: boolean, facts: Stats | null): void {
  const folder = dirname(path);
  clearStale(folder);
  // A process number comes again, in a container with every run; a name that nobody can foresee does not.
  const temporary = join(folder, `.romkiln-${unforeseen()}.tmp`);
  try {
    const file = openSync(temporary, 'wx', facts ? facts.mode & 0o777 : 0o666);
    try {
      writeAll(file, data, path);
      if (synced) fsyncSync(file);
    } finally {
      closeSync(file);
    }
    if (facts) keepOwnership(temporary, facts);
    renameSync(temporary, path);
  } catch (error) {
    rmSync(temporary, { force: true });
    throw error;
  }
  if (synced) syncFolder(folder);
}

/** The new file belongs to whom the old one did, as far as this user may decide that, and has its mode. */
function keepOwnership(file: string, { uid, gid, mode }: Stats): void {
  const { uid: ownUid, gid: ownGid } = lstatSync(file);
  if (uid !== ownUid || gid !== ownGid) {
    try {
      chownSync(file, uid, gid);
    } catch {
      // Another user's file in a folder of ours: it becomes ours, as with every editor.
    }
  }
  chmodSync(file, mode & 0o777);
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
