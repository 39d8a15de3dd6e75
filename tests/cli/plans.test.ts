// check, build, list and look through the command line, on every example and on a plan with mistakes.
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.js';
import { fakeWorld } from '../support/fake-world.js';

const examples = readdirSync('images').filter((f) => /^skerry-.*\.(yaml|js)$/.test(f));
const initialFiles = Object.fromEntries(examples.map((f) => [`images/${f}`, readFileSync(`images/${f}`, 'utf8')]));
const loadModule = async (path: string) =>
  ((await import(pathToFileURL(resolve(path)).href)) as { default: unknown }).default;

async function romkiln(...argv: string[]) {
  const world = fakeWorld({ initialFiles, loadModule });
  const exit = await run(argv, world);
  return { exit, world, out: world.out(), err: world.err() };
}

describe.each(examples)('the example %s', (file) => {
  const path = `images/${file}`;

  it('when it is checked then nothing is wrong', async () => {
    const { exit, out } = await romkiln('check', path, '--strict');
    expect(out).toContain('nothing wrong, nothing doubtful');
    expect(exit).toBe(0);
  });

  it('when it is built then the images are those that stand beside it', async () => {
    const { exit, world, out } = await romkiln('build', path, '-o', 'out', '--json');
    expect(exit).toBe(0);
    const { roms } = JSON.parse(out) as { roms: { file: string }[] };
    expect(roms.length).toBeGreaterThan(0);
    for (const { file: name } of roms) {
      expect(existsSync(`images/${name}`), name).toBe(true);
      expect(Buffer.from(world.files.read(`out/${name}`)).equals(readFileSync(`images/${name}`)), name).toBe(true);
    }
  });

  it('when it is listed then there are rows, and an address is explained', async () => {
    expect((await romkiln('list', path)).out.split('\n').length).toBeGreaterThan(4);
    const looked = await romkiln('look', path, '0x5', '--json');
    expect(looked.exit).toBe(0);
    expect(JSON.parse(looked.out).roms[0].looks[0].address).toBe(5);
  });
});

describe('a plan with mistakes', () => {
  const mistaken = readFileSync('images/skerry-thermometer.yaml', 'utf8')
    .replace('degrees: A4', 'degrees: A8')
    .replace('font: ls247', 'font: ls999');

  it('when it is checked then every mistake is named with its place, and the exit is 1', async () => {
    const world = fakeWorld({ initialFiles: { 'p.yaml': mistaken } });
    expect(await run(['check', 'p.yaml'], world)).toBe(1);
    expect(world.out()).toMatch(/^p\.yaml:\d+:\d+: error: /m);
    expect(world.out()).toContain('ls999');
    expect(world.out()).toContain('A8');
  });

  it.each(['build', 'list', 'burn'])(
    'when %s is asked for then it is refused and nothing is written',
    async (command) => {
      const world = fakeWorld({ initialFiles: { 'p.yaml': mistaken } });
      expect(await run([command, 'p.yaml'], world)).toBe(2);
      expect(world.err()).toMatch(/p\.yaml:\d+:\d+/);
      expect([...world.files.stored.keys()]).toEqual(['p.yaml']);
    },
  );
});

describe('build without a plan', () => {
  it('when the schema is asked for then it is printed, and it is the one for editors', async () => {
    const { exit, out, world } = await romkiln('build', '--schema');
    expect(exit).toBe(0);
    expect(out).toBe(readFileSync('images/plan.schema.json', 'utf8'));
    expect([...world.files.stored.keys()]).toEqual(Object.keys(initialFiles));
  });

  it('when anything else is asked for then the plan is missing', async () => {
    for (const argv of [[], ['--json'], ['--format', 'hex']]) {
      const { exit, err } = await romkiln('build', ...argv);
      expect(exit).toBe(2);
      expect(err).toMatch(/"build" needs <plan>\.\n {2}Usage: romkiln build <plan>/);
    }
  });
});

describe('a set of ROMs', () => {
  it('when it is burned with one writer then the person is asked to change chips', async () => {
    const world = fakeWorld({ initialFiles, answers: ['', 'never asked for'] });
    world.files.stored.set('images/skerry-tally.yaml', Buffer.from(initialFiles['images/skerry-tally.yaml'] ?? ''));
    const exit = await run(['burn', 'images/skerry-tally.yaml', '--port', '/dev/none'], world);
    expect(world.err()).toMatch(/1 of 3: power off, seat \S+ \(28C64\)/);
    expect(exit).toBe(3);
  });

  it('when a compare does not say which ROM then it asks for --rom', async () => {
    const { exit, err } = await romkiln('compare', 'images/skerry-tally.yaml', 'images/skerry-tally.yaml');
    expect(exit).toBe(2);
    expect(err).toContain('--rom');
  });
});

describe('a plan that check has warnings about', () => {
  const doubtful = readFileSync('images/skerry-signals.yaml', 'utf8').replace(
    'fields:',
    'fields:\n  idle: 1\n  idler: 1',
  );

  it('when it is built then that is said, with how to see them', async () => {
    const world = fakeWorld({ initialFiles: { 'p.yaml': doubtful } });
    expect(await run(['build', 'p.yaml', '-o', 'out'], world)).toBe(0);
    expect(world.err()).toBe('p.yaml: check has 2 warnings; romkiln check p.yaml shows them.\n');
    const json = fakeWorld({ initialFiles: { 'p.yaml': doubtful } });
    await run(['build', 'p.yaml', '-o', 'out', '--json'], json);
    expect(json.json()).toMatchObject({ command: 'build', warnings: 2 });
  });

  it('when it is burned then that is said before anything else', async () => {
    const world = fakeWorld({ initialFiles: { 'p.yaml': doubtful } });
    await run(['burn', 'p.yaml', '--port', '/dev/none'], world);
    expect(world.err()).toMatch(/^p\.yaml: check has 2 warnings; romkiln check p\.yaml shows them\.\n/);
  });

  it('when check has none then nothing is said', async () => {
    const { err } = await romkiln('build', 'images/skerry-signals.yaml', '-o', 'out');
    expect(err).toBe('');
  });
});
