// Words that a command would have to ignore, and options given twice, are refused before anything is done.
import { describe, expect, it } from 'vitest';
import { commandTable } from '../../src/cli/command-table.js';
import { run } from '../../src/cli/run.js';
import { fakeWorld } from '../support/fake-world.js';

async function refused(...argv: string[]): Promise<string> {
  const world = fakeWorld();
  const before = [...world.files.stored.keys()];
  expect(await run(argv, world)).toBe(2);
  expect([...world.files.stored.keys()]).toEqual(before);
  expect(world.out()).toBe('');
  return world.err();
}

/** Long name of every option with a value, and whether it may come again. */
const valued = commandTable.flatMap(({ name, options }) =>
  options
    .filter((o) => o.flags.includes('<'))
    .map((o) => ({ command: name, option: /--[a-z]+/.exec(o.flags)![0], many: o.many ?? false })),
);

describe('an option given twice', () => {
  it.each(valued.filter((v) => !v.many))(
    'when $command has $option twice then both values are said and neither is taken',
    async ({ command, option }) => {
      const err = await refused(command, option, 'one', option, 'two');
      expect(err).toContain(
        `romkiln: ${option} is given twice: one, two.\n  "${command}" takes it once; leave the other out.  [cli.option-twice]\n`,
      );
    },
  );

  it('when it is spelled short, with = or three times then it is found too', async () => {
    expect(await refused('dump', '-o', 'a', '--output', 'b')).toContain('--output is given twice: a, b.');
    expect(await refused('blank', '--chip=AT28C16', '--chip', 'x', '--chip', 'y')).toContain(
      '--chip is given 3 times: AT28C16, x, y.\n  "blank" takes it once; leave the others out.',
    );
  });

  it('when it may come several times then it is taken', () => {
    expect(valued.filter((v) => v.many).map((v) => `${v.command} ${v.option}`)).toEqual([
      'burn --port',
      'emulate --fault',
    ]);
  });

  it('when a flag stands there twice then that changes nothing', async () => {
    const world = fakeWorld();
    expect(await run(['chips', '--json', '--json'], world)).toBe(0);
  });
});

describe('an empty word', () => {
  it.each(valued)('when $command has $option with nothing in it then it does not pass for absent', async (row) => {
    const err = await refused(row.command, row.option, '');
    expect(err).toContain(`romkiln: The value of ${row.option} is empty.\n  Write `);
    expect(err).toContain('In a script, check that the variable is set.  [cli.empty-value]\n');
  });

  it('when an operand has nothing in it then it is missing', async () => {
    expect(await refused('check', '')).toContain('"check" needs <plan>.');
  });
});

describe('a word of no use', () => {
  it.each([
    [['keep', 'list', 'ab12'], 'keep list', '"ab12"'],
    [['keep', 'list', '-o', 'x'], 'keep list', '-o'],
    [['keep', 'list', '--format', 'hex'], 'keep list', '--format'],
    [['keep', 'show', 'ab12', '--format', 'hex'], 'keep', '--format'],
    [['emulate', 'new', 'b.json', 'D3 open', '--chip', 'AT28C16'], 'emulate new', '"D3 open"'],
    [['emulate', 'show', 'b.json', 'D3 open'], 'emulate show', '"D3 open"'],
    [['emulate', 'show', 'b.json', '--chip', 'AT28C16'], 'emulate show', '--chip'],
    [['emulate', 'fault', 'b.json', 'slow', '--fill', 'random'], 'emulate fault', '--fill'],
    [['emulate', 'serve', 'b.json', '--delay', '16ms'], 'emulate serve', '--delay'],
    [['build', '--schema', 'plan.yaml'], 'build', '"plan.yaml"'],
    [['build', '--schema', '-o', 'out'], 'build', '-o'],
    [['burn', 'a.hex', '--rom', 'low'], 'burn', '--rom'],
    [['verify', 'a.hex', '--rom', 'low'], 'verify', '--rom'],
    [['dump', '-o', 'd.bin', '--rom', 'low'], 'dump', '--rom'],
    [['compare', 'a.hex', 'b.hex', '--rom', 'low'], 'compare', '--rom'],
    [['rig', '--empty', '--rom', 'low'], 'rig', '--rom'],
    [['rig', '--reference', 'a.hex', '--rom', 'low'], 'rig', '--rom'],
    [['rig', '--empty', '--label', 'U7'], 'rig', '--label'],
    [['suspects', 'a.hex', 'b.bin', '--rom', 'low'], 'suspects', '--rom'],
    [['suspects', 'p.yaml', 'b.bin', '--bench'], 'suspects', '"b.bin"'],
    [['suspects', 'p.yaml', '--seen', 's.txt', '--before', 'b.bin'], 'suspects', '--before'],
  ])('when it is "%s" then it is refused', async (argv, use, word) => {
    const err = await refused(...argv);
    expect(err).toContain(`romkiln: "${use}" does not use ${word}.\n`);
    expect(err).not.toContain('{}');
  });

  it('when the rate of a line is not free then there is no option for it', async () => {
    expect(await refused('hold', '0x10', '--rate', '9600')).toContain('"hold" has no option --rate.');
    expect(await refused('conform', '--rate', '9600')).toContain('"conform" has no option --rate.');
    expect(await refused('conform', '--registers', '2')).toContain('"conform" has no option --registers.');
  });

  it('when several are of no use then all are said', async () => {
    const err = await refused('keep', 'list', 'ab12', '-o', 'x');
    expect(err.match(/cli\.idle-word/g)).toHaveLength(2);
    expect(err).toContain('Usage: romkiln keep list.');
  });

  it('when no fault is named then there is nothing to do to a bench', async () => {
    expect(await refused('emulate', 'fault', 'b.json')).toContain('"emulate fault" needs <fault>.');
  });
});
