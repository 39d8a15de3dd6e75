// Pages for people repeat what tables of the program say; here both are read and compared.
import { execFileSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { blockOfPage } from '../../src/chip/write-line.js';
import { commandTable } from '../../src/cli/command-table.js';
import { exit } from '../../src/ground/exit.js';

const pages = ['README.md', 'DEVELOPERS.md', 'firmware-protocol.md', 'firmware/README.md', 'images/README.md'];
const readme = readFileSync('README.md', 'utf8');

describe('the pages', () => {
  it('when the program has a command then the README names it, and no other', () => {
    const section = readme.slice(readme.indexOf('## The commands'), readme.indexOf('Images are raw binary'));
    const firstCells = section
      .split('\n')
      .filter((l) => l.startsWith('| `'))
      .map((l) => l.split('|')[1] ?? '');
    const named = firstCells.flatMap((cell) => [...cell.matchAll(/`([a-z]+)[^`]*`/g)].map((m) => m[1]));
    expect(named.sort()).toEqual(commandTable.map((c) => c.name).sort());
  });

  it('when the README says how many cells a block has then the program cuts so', () => {
    const [, cells] = /\| page \|.* in blocks of (\d+) cells/.exec(readme)!;
    expect(Number(cells)).toBe(blockOfPage(1));
  });

  it('when the program ends with a number then the README says what it means', () => {
    const rows = [...readme.matchAll(/^\| (\d+) \|/gm)].map((m) => Number(m[1]));
    expect(rows).toEqual(Object.values(exit));
  });

  it('when the README shows an option then some command has it', () => {
    const known = new Set(commandTable.flatMap((c) => c.options.flatMap((o) => o.flags.match(/--[a-z-]+/g) ?? [])));
    for (const extra of ['--help', '--seeds', '--color']) known.add(extra);
    const used = new Set(
      [...readme.matchAll(/romkiln [^\n`]*?(--[a-z-]+)|`(--[a-z-]+)/g)].map((m) => m[1] ?? m[2] ?? ''),
    );
    expect([...used].filter((o) => !known.has(o))).toEqual([]);
  });

  it('when a page links to a file then the file is there', () => {
    const broken = pages.flatMap((page) =>
      [...readFileSync(page, 'utf8').matchAll(/\]\(([^)#:]+)\)/g)]
        .map((m) => join(dirname(page), m[1]!))
        .filter((target) => !existsSync(target))
        .map((target) => `${page}: ${target}`),
    );
    expect(broken).toEqual([]);
  });

  it('when the top level is listed then nothing stands there that has no place', () => {
    const known =
      /^(README\.md|DEVELOPERS\.md|CHANGELOG\.md|LICENSE|package\.json|package-lock\.json|tsconfig\.json|vitest\.config\.ts|biome\.json|firmware-protocol\.md|src|bin|tests|images|firmware|bench|\.ci|\.git|\.gitignore|\.npmrc|node_modules|dist)$/;
    // What the project keeps, not what a person made while trying it.
    const kept = execFileSync('git', ['ls-files'], { encoding: 'utf8' }).trim().split('\n');
    const top = [...new Set(kept.map((name) => name.split('/')[0]!))];
    expect(top.length).toBeGreaterThan(10);
    expect(top.filter((name) => !known.test(name))).toEqual([]);
  });
});
