// The disk as commands see it: nothing half-written, refusals in words, and no call that never ends.
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { isAbsolute, join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { diskFiles, readMostBytes } from '../../src/cli/world-files.js';
import { readInput } from '../../src/cli/world-slow-input.js';
import { realClock } from '../../src/link/real-clock.js';

const folder = mkdtempSync(join(tmpdir(), 'romkiln-files-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const at = (name: string): string => join(folder, name);

describe('files on the disk', () => {
  it('when a file is replaced then no other name stays behind', () => {
    diskFiles.replace(at('a.bin'), Uint8Array.of(1, 2), { synced: true });
    diskFiles.replace(at('a.bin'), 'three');
    expect(readFileSync(at('a.bin'), 'utf8')).toBe('three');
    expect(readdirSync(folder)).toEqual(['a.bin']);
  });

  it('when a path leads through folders and links then its true path is the one of what stands there', () => {
    writeFileSync(at('bench'), '');
    symlinkSync(at('bench'), at('link'));
    const place = diskFiles.truePath(at('bench'));
    for (const name of ['./bench', '/bench', 'none/../bench', 'link']) {
      expect(diskFiles.truePath(`${folder}/${name}`)).toBe(place);
    }
    expect(diskFiles.truePath(`${folder}/./none`)).toBe(at('none'));
    expect(isAbsolute(diskFiles.truePath('none'))).toBe(true);
    rmSync(at('link'));
    rmSync(at('bench'));
  });

  it('when text is appended then the file grows, or begins', () => {
    diskFiles.append(at('book'), 'one\n');
    diskFiles.append(at('book'), 'two\n');
    expect(diskFiles.read(at('book'))).toEqual(new Uint8Array(Buffer.from('one\ntwo\n')));
  });

  it('when a folder is made then with its parents, and again without harm', () => {
    diskFiles.makeFolder(at('x/y/z'));
    diskFiles.makeFolder(at('x/y/z'));
    expect(existsSync(at('x/y/z'))).toBe(true);
  });

  it('when a part of the path is a file then it says so', () => {
    writeFileSync(at('plain'), '');
    expect(() => diskFiles.makeFolder(at('plain/below'))).toThrow(/cannot be written/);
    expect(() => diskFiles.replace(at('plain/below'), 'x')).toThrow(/not a folder|does not exist/);
    expect(() => diskFiles.read(at('plain/below'))).toThrow(/not a folder/);
  });

  it('when a file is read then every byte of it, however long it is', () => {
    for (const size of [0, 1, 65_535, 65_536, 65_537, 200_001]) {
      const bytes = Uint8Array.from({ length: size }, (_, i) => i % 251);
      writeFileSync(at('sized'), bytes);
      expect(Buffer.compare(diskFiles.read(at('sized')), bytes)).toBe(0);
    }
  });

  it('when a file is larger than any image, plan or record then it is refused', () => {
    writeFileSync(at('huge'), '');
    truncateSync(at('huge'), readMostBytes);
    expect(diskFiles.read(at('huge')).length).toBe(readMostBytes);
    truncateSync(at('huge'), readMostBytes + 1);
    expect(() => diskFiles.read(at('huge'))).toThrow(/huge holds more than 100 MB, or has no end/);
    truncateSync(at('huge'), 5e9);
    expect(() => diskFiles.read(at('huge'))).toThrow(/huge holds more than 100 MB, or has no end/);
    rmSync(at('huge'));
  });

  it.skipIf(!existsSync('/dev/zero'))('when an input has no end then it is refused', async () => {
    await expect(readInput('/dev/zero', realClock, new AbortController().signal)).rejects.toThrow(
      /\/dev\/zero holds more than 100 MB, or has no end/,
    );
    expect(() => diskFiles.read('/dev/zero')).toThrow(/it is a pipe or a device, no file/);
  });

  it.skipIf(!existsSync('/proc/version'))(
    'when the system tells no size of a file then it is read all the same',
    () => {
      expect(Buffer.compare(diskFiles.read('/proc/version'), readFileSync('/proc/version'))).toBe(0);
    },
  );

  it.skipIf(!existsSync('/proc/self'))(
    'when a folder refuses every child then it is refused, not tried for ever',
    () => {
      expect(() => diskFiles.makeFolder('/proc/romkiln/deep')).toThrow(/cannot be written/);
      expect(() => diskFiles.replace('/proc/romkiln.bin', 'x')).toThrow(
        '/proc/romkiln.bin cannot be written: its folder takes no new files. Nothing was changed there.',
      );
    },
  );

  it('when a file cannot come to be then that is told beforehand, and nothing is made', () => {
    mkdirSync(at('place'));
    writeFileSync(at('place/file'), 'old');
    expect(() => diskFiles.checkReplace(at('place'))).toThrow(/place cannot be written: it is a folder/);
    expect(() => diskFiles.checkReplace(at('nowhere/a.bin'))).toThrow(/its folder does not exist/);
    expect(() => diskFiles.checkReplace(at('place/file/a.bin'))).toThrow(/a part of its path is not a folder/);
    diskFiles.checkReplace(at('place/file'));
    diskFiles.checkReplace(at('place/new'));
    expect(readdirSync(at('place'))).toEqual(['file']);
    expect(readFileSync(at('place/file'), 'utf8')).toBe('old');
  });

  it('when there is no file then it is missing by name, or null where that is asked for', () => {
    expect(() => diskFiles.read(at('none'))).toThrow(/There is no file/);
    expect(diskFiles.readIfThere(at('none'))).toBeNull();
    expect(diskFiles.list(at('none'))).toEqual([]);
  });

  it('when a file stands where the folder should then nothing passes for empty', () => {
    writeFileSync(at('no-folder'), 'x');
    const said = 'book.jsonl cannot be read: a part of its path is not a folder.';
    expect(() => diskFiles.readIfThere(at('no-folder/book.jsonl'))).toThrow(said);
    expect(() => diskFiles.list(at('no-folder'))).toThrow(
      'no-folder cannot be read: a part of its path is not a folder.',
    );
  });
});
