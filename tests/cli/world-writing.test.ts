// What is written over stays what it was: links, modes, devices and pipes; and nothing of a killed run gets in the way.
import { execFileSync } from 'node:child_process';
import {
  chmodSync,
  closeSync,
  constants,
  existsSync,
  linkSync,
  lstatSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readdirSync,
  readFileSync,
  readlinkSync,
  readSync,
  rmSync,
  statSync,
  symlinkSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeEach, describe, expect, it } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import { diskFiles } from '../../src/cli/world-files.js';
import { readInput } from '../../src/cli/world-slow-input.js';
import { readBenchState, saveBenchState } from '../../src/emulator/bench-file.js';
import { newBenchState } from '../../src/emulator/bench-state.js';
import { realClock } from '../../src/link/real-clock.js';

const top = mkdtempSync(join(tmpdir(), 'romkiln-writing-'));
afterAll(() => rmSync(top, { recursive: true, force: true }));
let folder = '';
let count = 0;
beforeEach(() => {
  folder = join(top, `${count++}`);
  mkdirSync(folder);
});
const at = (name: string): string => join(folder, name);

describe('a file that is written over', () => {
  it('when it is a link then what it leads to is written and the link stays', () => {
    mkdirSync(at('else'));
    writeFileSync(at('else/true'), 'old');
    symlinkSync('else/true', at('link'));
    symlinkSync('link', at('second'));
    diskFiles.replace(at('second'), 'new');
    expect(readFileSync(at('else/true'), 'utf8')).toBe('new');
    expect(readlinkSync(at('second'))).toBe('link');
    expect(readlinkSync(at('link'))).toBe('else/true');
    expect(readdirSync(at('else'))).toEqual(['true']);
  });

  it('when it is a link to nothing then the file comes to be where it points', () => {
    symlinkSync('later', at('link'));
    diskFiles.replace(at('link'), 'new');
    expect(readFileSync(at('later'), 'utf8')).toBe('new');
    expect(lstatSync(at('link')).isSymbolicLink()).toBe(true);
  });

  it('when it has a mode of its own then it keeps it', () => {
    writeFileSync(at('private'), 'old');
    chmodSync(at('private'), 0o640);
    diskFiles.replace(at('private'), 'new');
    expect(statSync(at('private')).mode & 0o777).toBe(0o640);
  });

  it('when it is read-only then it is refused, for root too', () => {
    writeFileSync(at('fixed'), 'old');
    chmodSync(at('fixed'), 0o444);
    for (const write of [() => diskFiles.checkReplace(at('fixed')), () => diskFiles.replace(at('fixed'), 'new')])
      expect(write).toThrow(/fixed cannot be written: it is read-only/);
    expect(readFileSync(at('fixed'), 'utf8')).toBe('old');
  });

  it.skipIf(!existsSync('/dev/null'))('when it is a device then it is written to and stays', () => {
    diskFiles.checkReplace('/dev/null');
    diskFiles.replace('/dev/null', 'gone');
    expect(statSync('/dev/null').isCharacterDevice()).toBe(true);
  });

  it.skipIf(!existsSync('/dev/full'))('when a device takes nothing then its reason is said', () => {
    expect(() => diskFiles.replace('/dev/full', 'x')).toThrow(/\/dev\/full cannot be written: the disk is full/);
  });

  it.skipIf(process.platform === 'win32')('when it is a pipe then its reader gets the bytes', () => {
    execFileSync('mkfifo', [at('pipe')]);
    expect(() => diskFiles.replace(at('pipe'), 'x')).toThrow(/pipe cannot be written: nobody reads/);
    const reader = openSync(at('pipe'), constants.O_RDONLY | constants.O_NONBLOCK);
    diskFiles.replace(at('pipe'), 'for the reader');
    const got = Buffer.alloc(100);
    expect(got.toString('utf8', 0, readSync(reader, got))).toBe('for the reader');
    closeSync(reader);
    expect(lstatSync(at('pipe')).isFIFO()).toBe(true);
  });
});

describe('what a killed run left behind', () => {
  it('when it is over an hour old then the next run to that folder removes it, and nothing else', () => {
    const left = ['.romkiln-00112233445566aa.tmp', '.romkiln-00112233445566bb.tmp', '.romkiln-notes.tmp', '.17-1.tmp'];
    for (const name of left) writeFileSync(at(name), '');
    const longAgo = Date.now() / 1000 - 3700;
    for (const name of left.slice(1)) utimesSync(at(name), longAgo, longAgo);
    diskFiles.replace(at('a.bin'), 'new');
    expect(readdirSync(folder).sort()).toEqual([left[0], left[2], left[3], 'a.bin'].sort());
  });

  it("when this process has the number of the killed one then its files are in nobody's way", () => {
    for (let n = 0; n < 200; n++) writeFileSync(at(`.${process.pid}-${n}.tmp`), '');
    diskFiles.replace(at('a.bin'), 'new');
    expect(readFileSync(at('a.bin'), 'utf8')).toBe('new');
  });
});

describe('a bench', () => {
  it('when it is reached through a link then it is one bench and stays a link', () => {
    saveBenchState(diskFiles, at('bench.json'), newBenchState({ part: findPart('AT28C16') }));
    symlinkSync('bench.json', at('link.json'));
    const state = readBenchState(diskFiles, at('link.json'));
    state.cells[5] = 0x42;
    saveBenchState(diskFiles, at('link.json'), state);
    expect(readBenchState(diskFiles, at('bench.json')).cells[5]).toBe(0x42);
    expect(lstatSync(at('link.json')).isSymbolicLink()).toBe(true);
    expect(diskFiles.truePath(at('link.json'))).toBe(diskFiles.truePath(at('bench.json')));
  });

  it('when it has a second name then it is refused', () => {
    saveBenchState(diskFiles, at('bench.json'), newBenchState({ part: findPart('AT28C16') }));
    linkSync(at('bench.json'), at('other.json'));
    expect(() => readBenchState(diskFiles, at('other.json'))).toThrow(/it has 2 names \(hard links\)/);
  });
});

describe.skipIf(process.platform === 'win32')('an input that is a pipe', () => {
  it('when nobody writes there then Ctrl-C ends the waiting', async () => {
    execFileSync('mkfifo', [at('pipe')]);
    const interrupt = new AbortController();
    const reading = readInput(at('pipe'), realClock, interrupt.signal);
    interrupt.abort();
    await expect(reading).rejects.toMatchObject({ code: 'cli.interrupted', exit: 130 });
  });

  it('when bytes come bit by bit then all of them are read', async () => {
    execFileSync('mkfifo', [at('pipe')]);
    const reading = readInput(at('pipe'), realClock, new AbortController().signal);
    execFileSync('sh', ['-c', `(printf one; sleep 0.05; printf two) > "${at('pipe')}"`]);
    expect(Buffer.from(await reading).toString()).toBe('onetwo');
  });

  it('when a bench or a record is one then it is refused at once', () => {
    execFileSync('mkfifo', [at('pipe')]);
    expect(() => diskFiles.read(at('pipe'))).toThrow(/pipe cannot be read: it is a pipe or a device, no file/);
  });
});
