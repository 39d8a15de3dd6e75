// Several chips in one command: what came of each is said in one line at the end, and what can be found before is found before.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.js';
import { benchState, seatBench } from '../support/benches.js';
import { fakeWorld } from '../support/fake-world.js';

const plan = readFileSync('images/skerry-tally.yaml');
const quick = { cycleUs: 500 };

function bench(answers: readonly string[] = []) {
  const world = fakeWorld({ initialFiles: { 'p.yaml': plan, 'a.bin': new Uint8Array(8192).fill(0x5a) }, answers });
  const seat = (path: string, chip = 'AT28C64B', more = {}) => seatBench(world, path, chip, { ...quick, ...more });
  const burn = (...words: string[]) => run(['burn', ...words, '--range', '0x000..0x1ff', '--quiet'], world);
  const untouched = (path: string) => benchState(world, path).wear.every((w) => w === 0);
  return { world, seat, burn, untouched };
}
/** Sound benches for the first two of the three chips. */
const left = (seat: (path: string) => string): string[] => ['--port', seat('l.json'), '--port', seat('m.json')];
const lastLine = (text: string): string => text.trimEnd().split('\n').at(-1)!;

describe('a set on several ports', () => {
  it('when all goes well then the last line counts them', async () => {
    const { world, seat, burn } = bench();
    expect(await burn('p.yaml', ...left(seat), '--port', seat('r.json'))).toBe(0);
    expect(lastLine(world.out())).toBe('3 of 3 burned.');
  });

  it('when one chip does not take its bytes then the others are burned, and it is named with why', async () => {
    const { world, seat, burn, untouched } = bench();
    const words = [...left(seat), '--port', seat('r.json', 'AT28C64B', { faults: ['dead page 0x040'] })];
    expect(await burn('p.yaml', ...words)).toBe(4);
    expect(lastLine(world.out())).toBe('2 of 3 burned; outlets failed: not verified.');
    expect(untouched('l.json')).toBe(false);
  });

  it('when a socket is empty then that is the reason', async () => {
    const { world, seat, burn } = bench();
    const words = [...left(seat), '--port', seat('r.json', 'AT28C64B', { faults: ['absent'] })];
    expect(await burn('p.yaml', ...words)).toBe(4);
    expect(lastLine(world.out())).toMatch(/^2 of 3 burned; outlets failed: .*drives.*[^.]\.$/);
  });

  it('when the second bench is missing then nothing is written to the first', async () => {
    const { world, seat, burn, untouched } = bench();
    for (const chip of [[], ['--chip', '28C64']]) {
      expect(await burn('p.yaml', ...chip, ...left(seat), '--port', 'emulated:r.json')).toBe(2);
      expect(world.err()).toContain('emulated:r.json: romkiln: There is no file r.json.');
      expect(lastLine(world.out())).toBe(
        '0 of 3 burned, nothing was written; outlets failed: There is no file r.json; not begun: lane, counts.',
      );
      expect(untouched('l.json')).toBe(true);
    }
  });

  it.each([
    ['emulated:l.json', 'emulated:./l.json'],
    ['emulated:l.json', 'emulated:a//../l.json'],
    ['emulated', 'emulated:/data/bench.json'],
    ['/dev/ttyUSB0', '/dev//ttyUSB0'],
  ])('when one port is named as %s and as %s then it is named twice', async (...ports) => {
    const { world, seat, burn, untouched } = bench();
    seat('l.json');
    expect(await burn('p.yaml', '--port', ports[0]!, '--port', ports[1]!)).toBe(2);
    expect(world.err()).toContain(`A port is named twice: ${ports.join(', ')}.`);
    expect(untouched('l.json')).toBe(true);
  });

  it('when a port is named as emulated without its file then it is said how one is written, among several too', async () => {
    const { world, seat, burn } = bench();
    for (const more of [[], ['--port', seat('l.json')]])
      expect(await burn('p.yaml', '--rom', 'outlets', '--port', 'emulated:', ...more)).toBe(2);
    const said = 'romkiln: The port "emulated:" names no bench file.\n  Write emulated:<bench file>';
    expect(world.err().split(said)).toHaveLength(3);
    const alone = bench();
    expect(await alone.burn('a.bin', '--port', 'emulated:')).toBe(2);
    expect(alone.world.err().match(/^romkiln: /gm)).toHaveLength(1);
  });

  it('when the image does not fit one of the chips then nothing is written to the other', async () => {
    const { world, seat, burn, untouched } = bench();
    const words = ['--port', seat('l.json'), '--port', seat('r.json', 'AT28C16')];
    expect(await burn('a.bin', ...words)).toBe(2);
    expect(lastLine(world.out())).toMatch(/^0 of 2 burned, nothing was written; emulated:r\.json failed: a\.bin /);
    expect(untouched('l.json')).toBe(true);
  });

  it('when one label is given for several chips then it is refused, on one port too', async () => {
    const { world, seat, burn, untouched } = bench();
    const one = seat('l.json');
    for (const ports of [
      [...left(seat), '--port', seat('r.json')],
      ['--port', one],
    ])
      expect(await burn('p.yaml', ...ports, '--label', 'U7')).toBe(2);
    expect(world.err().match(/"U7" labels one chip, but 3 are to be burned/g)).toHaveLength(2);
    expect(untouched('l.json')).toBe(true);
  });

  it('when it is asked with --json then one object holds the count and every burn in the order of the ports', async () => {
    const { world, seat, burn } = bench();
    const absent = seat('l.json', 'AT28C64B', { faults: ['absent'] });
    const words = ['--port', absent, '--port', seat('m.json'), '--port', seat('r.json'), '--json'];
    expect(await burn('p.yaml', ...words)).toBe(4);
    expect(world.json()).toMatchObject({
      command: 'burn',
      done: 2,
      of: 3,
      burns: [
        { port: 'emulated:l.json', exit: 4, errors: [{}] },
        { port: 'emulated:m.json', exit: 0, verified: true },
        { port: 'emulated:r.json', exit: 0, verified: true },
      ],
    });
  });
});

describe('a set on one port', () => {
  it('when a chip does not take its bytes then the next is asked for all the same, and the last line tells', async () => {
    const { world, seat, burn } = bench(['', '', '']);
    expect(await burn('p.yaml', '--port', seat('b.json', 'AT28C64B', { faults: ['dead page 0x040'] }))).toBe(4);
    expect(world.err()).toContain('3 of 3: power off, seat outlets');
    expect(lastLine(world.out())).toMatch(/^\d of 3 burned; .* failed: not verified/);
  });

  it('when the person stops then it is said how far it came', async () => {
    const { world, seat, burn, untouched } = bench(['']);
    expect(await burn('p.yaml', '--port', seat('b.json'))).toBe(130);
    expect(world.err()).toContain('Stopped before counts.');
    expect(lastLine(world.out())).toBe('1 of 3 burned; not begun: counts, outlets.');
    const none = bench();
    // Nobody has answered at all: that is no person who stops.
    expect(await none.burn('p.yaml', '--port', none.seat('b.json'))).toBe(2);
    expect(lastLine(none.world.out())).toBe('0 of 3 burned, nothing was written; not begun: lane, counts, outlets.');
    expect([untouched('b.json'), none.untouched('b.json')]).toEqual([false, true]);
  });

  it('when it is asked with --json then there is one object', async () => {
    const { world, seat, burn } = bench(['', '', '']);
    expect(await burn('p.yaml', '--port', seat('b.json'), '--json')).toBe(0);
    expect(world.json()).toMatchObject({
      done: 3,
      of: 3,
      burns: [{ verified: true }, { verified: true }, { verified: true }],
    });
  });
});

describe('a set on one port without anybody to answer', () => {
  it('when standard input has ended then it says what it needs, and nothing is written', async () => {
    const { world, seat, burn, untouched } = bench();
    expect(await burn('p.yaml', '--port', seat('l.json'))).toBe(2);
    expect(world.err()).toContain('The question before lane cannot be answered: standard input has ended.');
    expect(world.err()).toContain('a --port for each ROM');
    expect(untouched('l.json')).toBe(true);
  });
});
