import { describe, expect, it } from 'vitest';
import { commandTable } from '../../src/cli/command-table.js';
import { run } from '../../src/cli/run.js';
import { realClock } from '../../src/link/real-clock.js';
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

  it('when the command is mistyped then its options are not what is told', async () => {
    const { exit, err } = await outcome('brun', 'x.hex', '--chip', '28C64', '--quiet');
    expect([exit, err]).toEqual([
      2,
      expect.stringMatching(/^romkiln: There is no command "brun"\.\n {2}Did you mean burn\?/),
    ]);
  });

  it('when "--" ends the options then a file may begin with a dash', async () => {
    const world = fakeWorld({ initialFiles: { '--wanted.bin': 'a', '-x': 'a' } });
    expect(await run(['compare', '--json', '--', '--wanted.bin', '-x'], world)).toBe(0);
    expect(world.json()).toMatchObject({ same: true });
  });

  it('when the last option wants a value and there is none then that option is told', async () => {
    const { exit, err } = await outcome('build', 'x.yaml', '-o');
    expect([exit, err]).toEqual([
      2,
      'romkiln: -o needs a value.\n  Usage: -o, --output <folder>  [cli.missing-value]\n',
    ]);
  });

  it('when a label is longer than a record holds then that is told before anything is opened', async () => {
    const { exit, err } = await outcome('dump', '--chip', 'AT28C16', '--port', 'x', '--label', 'x'.repeat(65));
    expect([exit, err]).toEqual([2, expect.stringContaining('[cli.value-too-long]')]);
  });

  it('when options stand before the command then they are its options', async () => {
    const world = fakeWorld({ initialFiles: { a: 'a', b: 'a' } });
    expect(await run(['--json', 'compare', 'a', 'b'], world)).toBe(0);
    expect(world.json()).toMatchObject({ same: true });
  });

  it('when the part has no protection then protect ends with 2, since nothing was refused', async () => {
    const { exit, err } = await outcome('protect', '--chip', 'AT28C16', '--port', 'x');
    expect([exit, err]).toEqual([2, expect.stringContaining('AT28C16 has no software data protection.')]);
  });

  it('when Ctrl-C comes while the writer is waited for then the exit is 130', async () => {
    let isClosed = false;
    const world = fakeWorld({
      openSerial: async (path) => {
        setTimeout(() => world.interruptNow(), 5);
        return {
          path,
          clock: realClock,
          send: async () => {},
          listen: () => {},
          setRate: async () => {},
          close: async () => {
            isClosed = true;
          },
        };
      },
    });
    expect(await run(['writer', '--port', 'x'], world)).toBe(130);
    expect(world.err()).toContain('Interrupted while waiting for the writer.');
    expect(isClosed).toBe(true);
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
