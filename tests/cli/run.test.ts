import { describe, expect, it } from 'vitest';
import { commandTable } from '../../src/cli/command-table.js';
import { run } from '../../src/cli/run.js';
import { fakeWorld } from '../support/fake-world.js';

const outcome = async (...argv: string[]) => {
  const world = fakeWorld();
  const exit = await run(argv, world);
  return { exit, out: world.out(), err: world.err() };
};

describe('the command line', () => {
  it('when help is asked for then every command is listed and the exit is 0', async () => {
    const { exit, out } = await outcome('--help');
    expect(exit).toBe(0);
    for (const { name, summary } of commandTable) {
      expect(out).toContain(`  ${name} `);
      expect(out.replace(/\s+/g, ' ')).toContain(summary);
    }
  });

  it.each(commandTable.map((c) => c.name))('when "%s --help" is asked for then it lists its options', async (name) => {
    const { exit, out } = await outcome(name, '--help');
    expect(exit).toBe(0);
    expect(out).toContain('--json');
  });

  it('when nothing is asked for then the help is shown and the exit is 2', async () => {
    const { exit, out } = await outcome();
    expect(exit).toBe(2);
    expect(out).toContain('Usage: romkiln <command>');
  });

  it('when the command is mistyped then a near one is offered', async () => {
    const { exit, err } = await outcome('brun', 'x.hex');
    expect(exit).toBe(2);
    expect(err).toBe('romkiln: There is no command "brun".\n  Did you mean burn?  [cli.unknown-command]\n');
  });

  it('when several words are wrong then all are said at once', async () => {
    const { exit, err } = await outcome('compare', '--jsn', 'a.hex', '--flub=3');
    expect(exit).toBe(2);
    expect(err).toContain('"compare" has no option --jsn.\n  Did you mean --json?');
    expect(err).toContain('"compare" has no option --flub.');
    expect(err).toContain('"compare" needs <actual>');
  });

  it('when an option lacks its value then one sentence says so', async () => {
    const { exit, err } = await outcome('burn', 'x.hex', '--range');
    expect(exit).toBe(2);
    expect(err).toContain('--range');
    expect(err).not.toContain('    at ');
  });

  it('when an error is met with --json then standard output holds one object', async () => {
    const world = fakeWorld();
    expect(await run(['chips', 'AT28C61', '--json'], world)).toBe(2);
    expect(world.json()).toMatchObject({ command: 'chips', errors: [{ code: 'chip.unknown', exit: 2 }] });
  });

  it('when chips are listed then every part has its line', async () => {
    const { exit, out } = await outcome('chips');
    expect(exit).toBe(0);
    expect(out).toMatch(/^28C256 +32 KiB +28 +64 /m);
    expect(out).toMatch(/^AT28C16 +2 KiB +24 +cell /m);
  });
});
