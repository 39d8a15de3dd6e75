// One romkiln a port. The system's own lock comes too late: a second open sets the line before it asks for the lock.
import { chmod, link, mkdir, readFile, rename, unlink, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { ToolError } from '../ground/errors.js';

/** Gives the port free. Safe to call twice. */
export type Unlock = () => Promise<void>;

interface Holder {
  readonly pid: number;
  readonly command: string;
  /** When the process began, as the system tells it; a later process may have the same number. Empty where it is not told. */
  readonly began: string;
}

const isCode = (error: unknown, ...codes: string[]): boolean =>
  codes.includes((error as NodeJS.ErrnoException).code ?? '');

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
    if (isCode(error, 'ESRCH')) return false;
  }
  return (await beganOf(holder.pid)) === holder.began;
}

/** The holder that a lock file names; null where there is none, or nothing readable in it. */
async function holderIn(file: string): Promise<Holder | null> {
  try {
    const { pid, command, began } = JSON.parse(await readFile(file, 'utf8'));
    return Number.isInteger(pid) && pid > 0 ? { pid, command: String(command), began: String(began) } : null;
  } catch {
    return null;
  }
}

/**
 * Takes the port with this real path for this process, by a lock file in `folder`. Rejects with link.busy, which names the
 * holder, while a living process has it. The lock of a dead process is taken over.
 */
export async function lockPort(folder: string, realPath: string, shownPath = realPath): Promise<Unlock> {
  const made = await mkdir(folder, { recursive: true });
  // All users of the machine share the folder, each removes only his own files.
  if (made) await chmod(folder, 0o1777);
  const lock = join(folder, `${encodeURIComponent(realPath)}.lock`);
  const mine: Holder = {
    pid: process.pid,
    command: process.argv.slice(1).join(' '),
    began: await beganOf(process.pid),
  };
  const aside = `${lock}.${mine.pid}.${process.hrtime.bigint()}`;
  // Written aside and linked into place: nobody ever sees half a lock.
  await writeFile(aside, JSON.stringify(mine), { flag: 'wx', mode: 0o644 });
  try {
    for (;;) {
      try {
        await link(aside, lock);
        break;
      } catch (error) {
        if (!isCode(error, 'EEXIST')) throw error;
      }
      const holder = await holderIn(lock);
      if (holder && (await isAlive(holder)))
        throw new ToolError('link.busy', { path: shownPath, holder: `process ${holder.pid} (${holder.command})` });
      if (!(await removeStale(lock, `${aside}.stale`))) break;
    }
  } finally {
    await unlink(aside);
  }
  return async () => {
    const holder = await holderIn(lock);
    if (holder?.pid === mine.pid && holder.began === mine.began) await unlink(lock).catch(() => {});
  };
}

/**
 * Removes a lock that nobody holds, unless somebody took it in this moment: then it is put back. False where it is
 * another user's file: then only the system's own lock guards the port.
 */
async function removeStale(lock: string, aside: string): Promise<boolean> {
  try {
    await rename(lock, aside);
  } catch (error) {
    if (isCode(error, 'ENOENT')) return true;
    if (isCode(error, 'EPERM', 'EACCES')) return false;
    throw error;
  }
  const holder = await holderIn(aside);
  if (holder && (await isAlive(holder))) await link(aside, lock).catch(() => {});
  await unlink(aside);
  return true;
}
