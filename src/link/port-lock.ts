// One romkiln a port. The system's own lock comes too late: a second open sets the line before it asks for the lock.
import { createHash } from 'node:crypto';
import { chmod, mkdir, readdir, readFile, rename, stat, unlink, writeFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { pause } from '../ground/clock.js';
import { ToolError } from '../ground/errors.js';
import { realClock } from './real-clock.js';

/** Gives the port free. Safe to call twice. */
export type Unlock = () => Promise<void>;

interface Holder {
  readonly pid: number;
  readonly command: string;
  /** When the process began, as the system tells it; a later process may have the same number. Empty where it is not told. */
  readonly began: string;
}

/** When a process began, in ticks since the system started: field 22 of /proc/pid/stat (proc(5)). */
async function beganOf(pid: number): Promise<string> {
  const stat = await readFile(`/proc/${pid}/stat`, 'latin1').catch(() => '');
  // The second field is the name in parentheses and may hold anything.
  return stat.slice(stat.lastIndexOf(')') + 2).split(' ')[19] ?? '';
}

async function isAlive(holder: Holder): Promise<boolean> {
  try {
    process.kill(holder.pid, 0);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ESRCH') return false;
  }
  return (await beganOf(holder.pid)) === holder.began;
}

/** The holder that a lock file names; null where nothing readable is in it, undefined where it cannot be looked into. */
async function holderIn(file: string): Promise<Holder | null | undefined> {
  const text = await readFile(file, 'utf8').catch(() => undefined);
  if (text === undefined) return undefined;
  try {
    const { pid, command, began } = JSON.parse(text);
    return Number.isInteger(pid) && pid > 0 ? { pid, command: String(command), began: String(began) } : null;
  } catch {
    return null;
  }
}

/** What those wait who asked at the same moment, in ms: each of the others only has to see the first one's file and go. */
const patience = { eachMs: 5, tries: 100 };

/**
 * Takes the port with this real path for this process, by a lock file in `folder`. Rejects with link.busy, which names the
 * holder, while a living process has it. The lock of a dead process does not count.
 *
 * Each process that asks puts down a file of its own, and has the port when it then sees no file of another living one. Two
 * that ask at once both see the other's file: who came later gives up, the earlier waits for that. No name is ever used
 * twice, so a dead process's file can be removed without harm to a living one.
 */
export async function lockPort(folder: string, realPath: string, shownPath = realPath): Promise<Unlock> {
  // A path may be longer than the name of a file can be.
  const port = `${createHash('sha256').update(realPath).digest('hex').slice(0, 32)}-`;
  const mine = `${port}${ticket()}.lock`;
  const me: Holder = {
    pid: process.pid,
    command: process.argv.slice(1).join(' '),
    began: await beganOf(process.pid),
  };
  await putDown(folder, mine, JSON.stringify(me)).catch((error: NodeJS.ErrnoException) => {
    const reason = error.code ?? error.message;
    throw new ToolError('link.no-lock', { path: shownPath, folder, reason }, { cause: error });
  });
  const unlock = (): Promise<void> => unlink(join(folder, mine)).catch(() => {});
  try {
    for (let left = patience.tries; ; left--) {
      const other = await firstOther(folder, port, mine);
      if (!other) return unlock;
      if (other.name < mine || left === 0)
        throw new ToolError('link.busy', {
          path: shownPath,
          holder: `process ${other.holder.pid} (${other.holder.command})`,
        });
      await pause(realClock, patience.eachMs);
    }
  } catch (error) {
    await unlock();
    throw error;
  }
}

/** Resolves with whether it was made now. Node's own recursive way never ends below a folder that refuses children with ENOENT, as /proc does (measured, 20.20). */
async function makeFolder(path: string): Promise<boolean> {
  try {
    await mkdir(path);
    return true;
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === 'EEXIST') return false;
    if (code !== 'ENOENT' || (await isThere(dirname(path)))) throw error;
    await makeFolder(dirname(path));
    return makeFolder(path);
  }
}

const isThere = (path: string): Promise<boolean> =>
  stat(path).then(
    () => true,
    () => false,
  );

async function putDown(folder: string, name: string, text: string): Promise<void> {
  const made = await makeFolder(folder);
  // All users of the machine share the folder, each removes only his own files.
  if (made) await chmod(folder, 0o1777);
  // Written aside and renamed into place: nobody ever sees half a lock.
  const aside = join(folder, `${name}.new`);
  await writeFile(aside, text, { flag: 'wx' });
  await chmod(aside, 0o644);
  await rename(aside, join(folder, name));
}

/** A name that no other has had; of two, the earlier sorts first. */
const ticket = (): string =>
  `${String(process.hrtime.bigint()).padStart(20, '0')}-${process.pid}-${(tickets++).toString(36)}`;
let tickets = 0;

/** The earliest lock of another living process on this port. Locks of dead ones are cleared away, as far as they are ours. */
async function firstOther(folder: string, port: string, mine: string) {
  for (const name of (await readdir(folder)).sort()) {
    if (name === mine || !name.startsWith(port) || !name.endsWith('.lock')) continue;
    const holder = await holderIn(join(folder, name));
    if (holder === undefined) continue;
    if (holder && (await isAlive(holder))) return { name, holder };
    await unlink(join(folder, name)).catch(() => {});
  }
  return null;
}
