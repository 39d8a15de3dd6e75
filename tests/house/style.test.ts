// House style that a program can hold: what belongs to the world stays in the file that owns it; no leftovers.
import { readFileSync } from 'node:fs';
import { basename } from 'node:path';
import { describe, expect, it } from 'vitest';
import { sourceFiles } from './sources.js';

/** A word that only its owners may use: time, randomness, output and the process are handed in everywhere else. */
const owned: readonly { readonly word: RegExp; readonly owners: readonly RegExp[]; readonly instead: string }[] = [
  {
    word: /\bDate\.now\b|\bnew Date\(\)|\bperformance\.now\b/,
    owners: [/^src\/cli\/world/],
    instead: 'take a Clock or World.wallTime',
  },
  { word: /\bsetTimeout\b|\bsetInterval\b/, owners: [/^src\/link\//, /^src\/cli\/world/], instead: 'take a Clock' },
  { word: /\bsetImmediate\b/, owners: [/^src\/emulator\//, /^src\/cli\/world/], instead: 'take a Clock' },
  { word: /\bMath\.random\b/, owners: [/^src\/cli\/world/], instead: 'take a Random' },
  { word: /\bconsole\./, owners: [], instead: 'write to World.stdout or stderr' },
  {
    word: /\bprocess\.(?!nextTick\b)/,
    owners: [/^src\/link\//, /^src\/cli\/world/],
    instead: 'take what you need from World',
  },
  { word: /from 'node:fs/, owners: [/^src\/link\//, /^src\/cli\/world/], instead: 'take Files' },
];

const withoutComments = (text: string): string => text.replace(/\/\*[\s\S]*?\*\//g, '').replace(/(^|\s)\/\/.*$/gm, '');

describe('house style', () => {
  const files = sourceFiles('src').map((file) => ({ file, text: readFileSync(file, 'utf8') }));

  it('when a word belongs to the world then only its owner uses it', () => {
    const complaints = files.flatMap(({ file, text }) =>
      owned
        .filter(({ word, owners }) => word.test(withoutComments(text)) && !owners.some((o) => o.test(file)))
        .map(({ word, instead }) => `${file}: ${word} is not used here; ${instead}`),
    );
    expect(complaints).toEqual([]);
  });

  it('when a file begins then its first line says what it is', () => {
    expect(files.filter(({ text }) => !/^(#!.*\n)?(\/\/|\/\*\*?) ?\S/.test(text)).map((f) => f.file)).toEqual([]);
  });

  it('when a file is named then not after what it is not', () => {
    expect(
      files.map((f) => basename(f.file)).filter((n) => /^(utils?|helpers?|common|manager|misc)\./.test(n)),
    ).toEqual([]);
  });

  it('when code is committed then nothing is left for later', () => {
    const all = [...files, ...sourceFiles('tests').map((file) => ({ file, text: readFileSync(file, 'utf8') }))];
    const leftover = new RegExp(['TO', 'DO|FIX', 'ME|XX', 'X\\b|HA', 'CK\\b'].join(''));
    expect(all.filter(({ text }) => leftover.test(text)).map((f) => f.file)).toEqual([]);
    expect(all.filter(({ text }) => /\b(it|describe|test)\.(only|todo)\(/.test(text)).map((f) => f.file)).toEqual([]);
  });

  it('when an error is thrown then it is a ToolError, or a promise of our own that broke', () => {
    const bare = files.filter(
      ({ file, text }) => /throw new Error\((?!['"`]broken promise: )/.test(text) && !file.startsWith('src/link/'),
    );
    expect(bare.map((f) => f.file)).toEqual([]);
  });

  it('when a file grows then it can still be read in a sitting', () => {
    const long = files
      .filter(({ text }) => text.split('\n').length > 420)
      .map((f) => `${f.file}: ${f.text.split('\n').length} lines`);
    expect(long).toEqual([]);
  });
});
