import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { lockPort } from '../../src/link/port-lock.js';

let folder: string;
beforeEach(() => {
  folder = join(mkdtempSync(join(tmpdir(), 'romkiln-lock-')), 'locks');
});
afterEach(() => rmSync(join(folder, '..'), { recursive: true }));

const lockFile = () => join(folder, '%2Fdev%2FttyX.lock');
/** A pid that no process has any more. */
const deadPid = () => spawnSync(process.execPath, ['-e', '0']).pid;
const plant = async (holder: unknown) => {
  await (await lockPort(folder, '/dev/other'))();
  writeFileSync(lockFile(), typeof holder === 'string' ? holder : JSON.stringify(holder));
};

describe('the lock of a port', () => {
  it('when a living process holds it then the second is told who', async () => {
    const unlock = await lockPort(folder, '/dev/ttyX');
    await expect(lockPort(folder, '/dev/ttyX', '/dev/by-name')).rejects.toMatchObject({
      code: 'link.busy',
      exit: 3,
      facts: { path: '/dev/by-name', holder: expect.stringContaining(`process ${process.pid} (`) },
    });
    await unlock();
    await (await lockPort(folder, '/dev/ttyX'))();
    expect(readdirSync(folder)).toEqual([]);
  });

  it('when two ports differ then neither hinders the other', async () => {
    await lockPort(folder, '/dev/ttyX');
    await lockPort(folder, '/dev/ttyY');
    expect(readdirSync(folder)).toHaveLength(2);
  });

  it('when its holder is dead then it is taken over', async () => {
    await plant({ pid: deadPid(), command: 'gone', began: '1' });
    await lockPort(folder, '/dev/ttyX');
    expect(JSON.parse(readFileSync(lockFile(), 'utf8')).pid).toBe(process.pid);
    expect(readdirSync(folder)).toHaveLength(1);
  });

  it.skipIf(!existsSync('/proc/self/stat'))(
    'when a later process has the number of its holder then it is taken over',
    async () => {
      await plant({ pid: process.pid, command: 'an earlier life', began: '1' });
      await (await lockPort(folder, '/dev/ttyX'))();
      expect(readdirSync(folder)).toEqual([]);
    },
  );

  it('when it is no lock of ours then it is taken over', async () => {
    for (const text of ['', '{', 'null', '{"pid":-1}', '{"pid":"x"}']) {
      await plant(text);
      await (await lockPort(folder, '/dev/ttyX'))();
    }
    expect(readdirSync(folder)).toEqual([]);
  });

  it('when many ask at once then one has it', async () => {
    await plant({ pid: deadPid(), command: 'gone', began: '1' });
    const asked = await Promise.allSettled(Array.from({ length: 20 }, () => lockPort(folder, '/dev/ttyX')));
    expect(asked.filter((a) => a.status === 'fulfilled')).toHaveLength(1);
    expect(readdirSync(folder)).toHaveLength(1);
  });

  it('when the lock was lost to another then unlocking leaves theirs alone', async () => {
    const unlock = await lockPort(folder, '/dev/ttyX');
    writeFileSync(lockFile(), JSON.stringify({ pid: 1, command: 'another', began: '0' }));
    await unlock();
    await unlock();
    expect(existsSync(lockFile())).toBe(true);
  });
});
