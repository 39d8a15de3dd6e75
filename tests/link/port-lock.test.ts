import { execFile, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { lockPort } from '../../src/link/port-lock.js';

const exec = promisify(execFile);
let folder: string;
beforeEach(() => {
  folder = join(mkdtempSync(join(tmpdir(), 'romkiln-lock-')), 'locks');
});
afterEach(() => rmSync(join(folder, '..'), { recursive: true }));

/** The lock of a process that asked before any of these tests did. */
let lockFile: () => string;
beforeEach(async () => {
  const unlock = await lockPort(folder, '/dev/ttyX');
  const [name = ''] = readdirSync(folder);
  lockFile = () => join(folder, name);
  await unlock();
});
/** A pid that no process has any more. */
const deadPid = () => spawnSync(process.execPath, ['-e', '0']).pid;
const plant = (holder: unknown) => {
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

  it('when the folder cannot be made then one sentence names it', async () => {
    writeFileSync(join(folder, '..', 'plain'), '');
    const below = join(folder, '..', 'plain', 'locks');
    await expect(lockPort(below, '/dev/ttyX')).rejects.toMatchObject({
      code: 'link.no-lock',
      exit: 2,
      facts: { path: '/dev/ttyX', folder: below, reason: 'ENOTDIR' },
    });
  });

  it('when two ports differ then neither hinders the other', async () => {
    await lockPort(folder, '/dev/ttyX');
    await lockPort(folder, '/dev/ttyY');
    expect(readdirSync(folder)).toHaveLength(2);
  });

  it('when its holder is dead then it is taken over', async () => {
    plant({ pid: deadPid(), command: 'gone', began: '1' });
    await lockPort(folder, '/dev/ttyX');
    const [lock = '', ...others] = readdirSync(folder);
    expect(JSON.parse(readFileSync(join(folder, lock), 'utf8')).pid).toBe(process.pid);
    expect(others).toEqual([]);
  });

  it.skipIf(!existsSync('/proc/self/stat'))(
    'when a later process has the number of its holder then it is taken over',
    async () => {
      plant({ pid: process.pid, command: 'an earlier life', began: '1' });
      await (await lockPort(folder, '/dev/ttyX'))();
      expect(readdirSync(folder)).toEqual([]);
    },
  );

  it('when it is no lock of ours then it is taken over', async () => {
    for (const text of ['', '{', 'null', '{"pid":-1}', '{"pid":"x"}']) {
      plant(text);
      await (await lockPort(folder, '/dev/ttyX'))();
    }
    expect(readdirSync(folder)).toEqual([]);
  });

  it('when many ask at once then one has it', async () => {
    for (let round = 0; round < 10; round++) {
      plant({ pid: deadPid(), command: 'gone', began: '1' });
      const asked = await Promise.allSettled(Array.from({ length: 20 }, () => lockPort(folder, '/dev/ttyX')));
      const given = asked.flatMap((a) => (a.status === 'fulfilled' ? [a.value] : []));
      expect(given).toHaveLength(1);
      expect(readdirSync(folder)).toHaveLength(1);
      await given[0]!();
    }
  });

  it('when many processes ask at once then one has it at a time', async () => {
    const asker = `
      import { existsSync, rmSync, writeFileSync } from 'node:fs';
      import { lockPort } from ${JSON.stringify(new URL('../../dist/link/port-lock.js', import.meta.url).href)};
      const inside = ${JSON.stringify(join(folder, '..', 'inside'))};
      let had = 0;
      for (let i = 0; i < 40; i++) {
        const unlock = await lockPort(${JSON.stringify(folder)}, '/dev/ttyX').catch((e) => { if (e.code !== 'link.busy') throw e; });
        if (!unlock) continue;
        writeFileSync(inside, '', { flag: 'wx' });
        await new Promise((r) => setTimeout(r, 1));
        rmSync(inside);
        await unlock();
        had++;
      }
      console.log(had);`;
    const runs = await Promise.all(
      Array.from({ length: 4 }, () => exec(process.execPath, ['--input-type=module', '-e', asker])),
    );
    expect(runs.reduce((sum, r) => sum + Number(r.stdout), 0)).toBeGreaterThan(0);
    expect(readdirSync(folder)).toEqual([]);
  });

  it('when the lock of another cannot be looked into then it is left alone', async () => {
    plant('');
    rmSync(lockFile());
    mkdirSync(lockFile());
    await (await lockPort(folder, '/dev/ttyX'))();
    expect(existsSync(lockFile())).toBe(true);
  });

  it('when the path is longer than a name can be then it is locked all the same', async () => {
    const path = `/dev/${'x'.repeat(300)}`;
    await lockPort(folder, path);
    await expect(lockPort(folder, path)).rejects.toMatchObject({ code: 'link.busy' });
  });

  it('when it is given free twice then the next holder keeps it', async () => {
    const unlock = await lockPort(folder, '/dev/ttyX');
    await unlock();
    await lockPort(folder, '/dev/ttyX');
    await unlock();
    expect(readdirSync(folder)).toHaveLength(1);
  });
});
