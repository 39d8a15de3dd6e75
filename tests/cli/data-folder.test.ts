// The folder of keep and book: by the platform's convention, and none is no reason to stop.
import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { dataFolder } from '../../src/cli/data-folder.js';
import { ToolError } from '../../src/ground/errors.js';

const home = (): string => '/home/wren';
const none = (): string => {
  throw new Error('no such user');
};

describe('the data folder', () => {
  it.each([
    ['linux', {}, '/home/wren/.local/share/romkiln'],
    ['linux', { XDG_DATA_HOME: '/data' }, '/data/romkiln'],
    ['linux', { XDG_DATA_HOME: '' }, '/home/wren/.local/share/romkiln'],
    ['darwin', { XDG_DATA_HOME: '/data' }, '/home/wren/Library/Application Support/romkiln'],
    ['win32', { LOCALAPPDATA: 'D:\\Local' }, 'D:\\Local\\romkiln'],
    ['win32', {}, 'C:\\Users\\wren\\AppData\\Local\\romkiln'],
  ])('when the platform is %s with %j then it is %s', (platform, environment, wanted) => {
    const homeThere = platform === 'win32' ? () => 'C:\\Users\\wren' : home;
    expect(dataFolder(environment, platform, homeThere)).toBe(wanted);
  });

  it('when the user has no home then it is a place that is not there, never the folder one stands in', () => {
    expect(dataFolder({}, 'linux', none)).toBe('/nonexistent/.local/share/romkiln');
    expect(dataFolder({}, 'linux', () => '')).toBe('/nonexistent/.local/share/romkiln');
    expect(dataFolder({ XDG_DATA_HOME: '/data' }, 'linux', none)).toBe('/data/romkiln');
  });

  it('when the README says where keep and book are then it is there', () => {
    const readme = readFileSync('README.md', 'utf8');
    const said = [...readme.matchAll(/^\| (Linux|macOS|Windows)[^|]*\| `([^`]+)` \|/gm)].map((m) => [m[1], m[2]]);
    const local = { LOCALAPPDATA: '%LOCALAPPDATA%' };
    const places = [
      ['Linux', dataFolder({}, 'linux', () => '~')],
      ['macOS', dataFolder({}, 'darwin', () => '~')],
      ['Windows', dataFolder(local, 'win32', home)],
    ];
    expect(said).toEqual(places);
  });

  it('when the README says what moves it then the note of an error names the same for each platform', () => {
    const readme = readFileSync('README.md', 'utf8');
    const rows = [...readme.matchAll(/^\| (Linux|macOS|Windows)[^|]*\|[^|]*\| `(\w+)`/gm)];
    const { note } = new ToolError('cli.data-folder', { path: '/data', verb: 'written', reason: 'the disk is full' });
    expect(rows).toHaveLength(3);
    for (const [, platform, variable] of rows) expect(note).toMatch(new RegExp(`\\b${variable} \\(${platform}\\)`));
  });

  it('when something is put into it then the README names it', () => {
    const readme = readFileSync('README.md', 'utf8');
    const section = readme.slice(readme.indexOf('### Where the keep'), readme.indexOf('## The commands'));
    const put = ['src/cli', 'src/job', 'src/task'].flatMap((room) =>
      readdirSync(room).flatMap((name) =>
        [...readFileSync(`${room}/${name}`, 'utf8').matchAll(/(?:dataF|f)older\}\/(keep|[a-z]+\.[a-z]+)/g)].map(
          (m) => m[1]!,
        ),
      ),
    );
    expect(new Set(put)).toEqual(new Set(['keep', 'book.jsonl', 'bench.json', 'rates.json']));
    for (const name of put) expect(section).toMatch(new RegExp(`\`${name}/?\``));
  });
});
