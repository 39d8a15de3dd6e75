// Every name that a file of src exports has a reader; what only tests read belongs to tests.
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { sourceFiles } from './sources.js';

/** Tables that a page for people repeats: the page is their reader, and a test compares both. */
const onPages = new Set(['src/chip/socket-pins.ts socketPins', 'src/protocol/writer-line.ts writerKeys']);

interface Source {
  readonly file: string;
  readonly text: string;
}

const named = /\b(?:import|export)\s+(?:type\s+)?(?:\w+\s*,\s*)?\{([^}]*)\}\s*from\s*'([^']+)'/g;
const declared =
  /^export\s+(?:declare\s+|abstract\s+|async\s+)*(?:type|interface|const|let|function\*?|class|enum)\s+(\w+)/gm;
const loaded = /\{([^{}]*)\}\s*=\s*await\s+import\('([^']+)'\)/g;
const entire = /import\s+\*\s+as\s+\w+\s+from\s*'([^']+)'|\bimport\('([^']+)'\)/g;

/** The words of `{ a, type B, c as d }`, by the names that the other file gave them. */
const wordsIn = (list: string, divider: RegExp): string[] =>
  list
    .split(',')
    .map((word) =>
      word
        .trim()
        .replace(/^type\s+/, '')
        .split(divider)[0]!
        .trim(),
    )
    .filter(Boolean);

/** The file of src that an import means; bin and bench read what is built of it. */
const meant = (file: string, specifier: string): string =>
  join(dirname(file), specifier)
    .replace(/\.js$/, '.ts')
    .replace(/^dist\//, 'src/');

/** `file name` of everything that these sources take from src. A file loaded as a whole is read with all its names: `file *`. */
function readNames(sources: readonly Source[]): Set<string> {
  const read = new Set<string>();
  for (const { file, text } of sources) {
    for (const [, list = '', specifier = ''] of text.matchAll(named))
      for (const word of wordsIn(list, /\s+as\s+/)) read.add(`${meant(file, specifier)} ${word}`);
    const taken = new Set<string>();
    for (const [, list = '', specifier = ''] of text.matchAll(loaded)) {
      taken.add(specifier);
      for (const word of wordsIn(list, /:/)) read.add(`${meant(file, specifier)} ${word}`);
    }
    for (const [, all, later] of text.matchAll(entire)) {
      const specifier = all ?? later ?? '';
      if (!taken.has(specifier)) read.add(`${meant(file, specifier)} *`);
    }
  }
  return read;
}

const typed = /^export\s+(?:type|interface)\s+(\w+)/gm;
const exportsOf = ({ file, text }: Source): string[] =>
  [...text.matchAll(declared)].map(([, name]) => `${file} ${name}`);
const isType = ({ text }: Source, name: string): boolean => [...text.matchAll(typed)].some(([, type]) => type === name);
/** A file uses what it exports where the name stands in it once more. */
const usesItself = ({ text }: Source, name: string): boolean =>
  [...text.matchAll(new RegExp(`(?<![\\w']|(?<!\\.\\.)\\.)${name}\\b`, 'g'))].length > 1;

/**
 * What need not be exported. A name that another file of the product takes is read. What a file uses itself may be taken by
 * tests, and a type that it uses is part of what its other exports say.
 */
function unread(product: readonly Source[], users: readonly Source[], tests: readonly Source[]): string[] {
  const read = readNames([...product, ...users]);
  const tested = readNames(tests);
  return product
    .filter(({ file }) => file !== 'src/index.ts' && !read.has(`${file} *`))
    .flatMap((source) =>
      exportsOf(source).filter((key) => {
        const name = key.split(' ')[1]!;
        return (
          !read.has(key) &&
          !onPages.has(key) &&
          !(usesItself(source, name) && (tested.has(key) || isType(source, name)))
        );
      }),
    );
}

const sourcesOf = (files: readonly string[]): Source[] =>
  files.map((file) => ({ file, text: readFileSync(file, 'utf8') }));
const scripts = (folder: string): string[] =>
  readdirSync(folder)
    .filter((name) => /\.(js|ts)$/.test(name))
    .map((name) => join(folder, name));

describe('the exports of src', () => {
  it('when a file of src exports a name then somebody reads it, and not tests alone', () => {
    const product = sourcesOf(sourceFiles('src'));
    const users = sourcesOf([...scripts('bin'), ...scripts('bench')]);
    expect(product.flatMap(exportsOf).length).toBeGreaterThan(300);
    expect(unread(product, users, sourcesOf(sourceFiles('tests')))).toEqual([]);
  });

  it('when an export has lost its last reader then it is noticed', () => {
    const product = [
      {
        file: 'src/a/one.ts',
        text: [
          'export const used = 1;',
          'export interface Lost {}',
          'export interface Said {}',
          'export function taken(): Said { return inner(); }',
          'export function inner(): Said { return {}; }',
          'export function forTests() {}',
        ].join('\n'),
      },
      { file: 'src/a/two.ts', text: "import { used as mine } from './one.js';\n" },
    ];
    const bin = { file: 'bin/x.js', text: "import { taken } from '../dist/a/one.js';" };
    const test = { file: 'tests/a/one.test.ts', text: "import { forTests, inner } from '../../src/a/one.js';" };
    const lost = ['src/a/one.ts Lost', 'src/a/one.ts forTests'];
    expect(unread(product, [bin], [test])).toEqual(lost);
    expect(unread(product, [], [])).toEqual([
      'src/a/one.ts Lost',
      'src/a/one.ts taken',
      'src/a/one.ts inner',
      'src/a/one.ts forTests',
    ]);
  });
});
