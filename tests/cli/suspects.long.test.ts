// suspects through the command line: faults set on the emulated bench, burned clean and read through the fault; and on the bench, by answers.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.js';
import { saveBenchState } from '../../src/emulator/bench-file.js';
import { applyFault } from '../../src/emulator/bench-state.js';
import { buildPlan, readPlan } from '../../src/plan/plan.js';
import { benchState, seatBench } from '../support/benches.js';
import { fakeWorld } from '../support/fake-world.js';

const plan = readFileSync('tests/support/tide-gauge.yaml', 'utf8');
const { image: wanted } = buildPlan(readPlan(plan, 'tide-gauge.yaml'))[0]!;
const image = wanted.bytes;

/** Read through a fault that came after the chip was burned. */
async function readThrough(...faults: string[]) {
  const world = fakeWorld({ initialFiles: { 'p.yaml': plan } });
  const port = seatBench(world, 'b.json', 'AT28C16', { contents: image });
  for (const fault of faults) saveBenchState(world.files, 'b.json', applyFault(benchState(world, 'b.json'), fault));
  // A dump of what no chip drives says so by its exit, and is written all the same.
  expect([0, 1, 4]).toContain(await run(['dump', '-o', 'r.bin', '--port', port, '--quiet'], world));
  const asked = fakeWorld({ initialFiles: { 'p.yaml': plan, 'r.bin': world.files.read('r.bin') } });
  const exit = await run(['suspects', 'p.yaml', 'r.bin'], asked);
  return { exit, out: asked.out() };
}

describe('suspects from a readback', () => {
  it('when the board is healthy then nothing wrong is seen', async () => {
    const { exit, out } = await readThrough();
    expect(exit).toBe(0);
    expect(out).toContain('No fault shows');
  });

  it.each([
    ['A4 A7 crossed', 'Address lines A4 and A7 are crossed'],
    ['A2 stuck 1', 'Address line A2 is stuck high'],
    ['D5 inverted', 'Data line D5 is inverted'],
    ['D1 D2 shorted low', 'Data lines D1 and D2 are shorted (low wins)'],
    ['D3 open', 'Data line D3 is open'],
    ['A9 open', 'Address line A9 is open'],
  ])('when the bench has "%s" then that is named', async (fault, said) => {
    const { exit, out } = await readThrough(fault);
    expect(exit).toBe(1);
    expect(out).toContain(said);
  });

  it('when everything reads FF then a blank chip and an empty socket are named, and no wire', async () => {
    const world = fakeWorld({ initialFiles: { 'p.yaml': plan, 'r.bin': new Uint8Array(2048).fill(0xff) } });
    expect(await run(['suspects', 'p.yaml', 'r.bin'], world)).toBe(1);
    expect(world.out()).toMatch(/\n {2}1\. The chip is blank.*\n {2}2\. No chip drives the bus/);
    expect(world.out()).not.toMatch(/ {2}3\. |line [AD]/);
  });

  it('when a readback leaves cells out then it is refused, since they were not read', async () => {
    const port = 'emulated:b.json';
    const world = fakeWorld({ initialFiles: { 'p.yaml': plan } });
    seatBench(world, 'b.json', 'AT28C16', { contents: image });
    expect(await run(['dump', '-o', 'part.hex', '--range', '0x200..0x7FF', '--port', port, '--quiet'], world)).toBe(0);
    expect(await run(['suspects', 'p.yaml', 'part.hex'], world)).toBe(2);
    expect(world.err()).toContain('part.hex says nothing of 512 cells of the chip, from 0x000 to 0x1FF');
    expect(await run(['dump', '-o', 'whole.hex', '--port', port, '--quiet'], world)).toBe(0);
    expect(await run(['suspects', 'p.yaml', 'whole.hex'], world)).toBe(0);
  });

  it('when a step needs the rig check then it says with what in the socket', async () => {
    for (const fault of ['D3 open', 'A2 stuck 1', 'A4 A7 crossed', 'D1 D2 shorted low']) {
      const { out } = await readThrough(fault);
      expect(out, fault).not.toMatch(/`romkiln rig`/);
    }
  });

  it('when one cell has decayed then it is described, no wire is blamed, and it is said what to do next', async () => {
    const { exit, out } = await readThrough('decayed 0x0C0');
    expect(exit).toBe(1);
    expect(out).toContain('1 byte of 2048 differs.');
    expect(out).toMatch(/No known fault explains this readback: 1 cell of 2048 differs \(0x0C0 reads .. for ..\)\./);
    expect(out).toMatch(
      /What to do next:\n {2}1\. Read the chip again .*\n {2}2\. .*only the cell 0x0C0 is written\.\n {2}3\. /,
    );
    expect(out).not.toContain('Suspect');
  });

  it('when cells were never written then the chip of the plan, or of --chip, says whether pages come into it', async () => {
    const readback = image.map((byte, a) => (a >= 64 && a < 128 ? 255 : byte));
    const said = async (...options: string[]) => {
      const large = new Uint8Array(8192).fill(255);
      large.set(readback);
      const files = { 'p.yaml': plan, 'w.bin': image, 'r.bin': options.includes('AT28C64B') ? large : readback };
      const world = fakeWorld({ initialFiles: files });
      const [wanted = '', ...more] = options;
      expect(await run(['suspects', wanted, 'r.bin', ...more], world)).toBe(1);
      return world.out();
    };
    expect(plan).toMatch(/chip: 28C16\n/);
    expect(await said('p.yaml')).toContain('64 cells were never written and read FF: 0x040..0x07F.');
    expect(await said('p.yaml')).not.toContain('page');
    expect(await said('w.bin', '--chip', 'AT28C16')).not.toContain('page');
    expect(await said('w.bin')).toContain('1 block was never written');
    expect(await said('p.yaml', '--chip', 'AT28C64B')).toContain('1 page was never written');
  });

  it('when a part of what the chip held is known, as the keep has it, then the rest was right already', async () => {
    const held = new Uint8Array(1000).map((_, a) => a * 7);
    const readback = image.map((byte, a) => (a >= 320 && a < 1000 ? held[a]! : byte));
    const world = fakeWorld({ initialFiles: { 'w.bin': image, 'r.bin': readback, 'b.bin': held } });
    expect(await run(['suspects', 'w.bin', 'r.bin', '--before', 'b.bin'], world)).toBe(1);
    expect(world.out()).toContain('were never written and hold what they held before');
  });

  it('when what the chip held, or the chip that is named, has another size than the readback then both sizes are said', async () => {
    const files = { 'w.bin': image, 'r.bin': image.map((byte) => byte ^ 1), 'b.bin': new Uint8Array(4096) };
    for (const [said, ...options] of [
      ['b.bin has 4096 bytes, and the readback has 2048.', '--before', 'b.bin'],
      ['AT28C256 has 32768 bytes, and the readback has 2048.', '--chip', 'AT28C256'],
    ]) {
      const world = fakeWorld({ initialFiles: files });
      expect(await run(['suspects', 'w.bin', 'r.bin', ...options], world)).toBe(2);
      expect(world.err()).toContain(said);
    }
  });

  it('when two lines are crossed then the plan corrected for the wiring builds the image that shows the right digits', async () => {
    const { out } = await readThrough('A4 A7 crossed');
    expect(out).toContain('zero: A4');
    expect(out).toContain('place: [A9, A7]');
  });
});

describe('suspects on the bench', () => {
  it('when answers are those of a healthy board then nothing wrong is seen', async () => {
    const answers: string[] = [];
    for (let round = 0; round < 20; round += 1) {
      const seen = answers.map((a) => `${a}\n`).join('');
      const world = fakeWorld({ initialFiles: { 'p.yaml': plan, 'seen.txt': seen } });
      await run(['suspects', 'p.yaml', '--next', '--seen', 'seen.txt', '--json'], world);
      const { next } = world.json() as { next: string | null };
      if (next === null) break;
      const [, level = '', zero = '', marks = ''] = /level=(\S+) zero=(\S+) marks=(\S+)/.exec(next) ?? [];
      const value = zero === 'mean' && Number(level) > 63 ? Number(level) - 128 : Number(level);
      answers.push(`${next}: ${marks === '1' ? Math.round(value * 0.53) : value}`);
    }
    const world = fakeWorld({ initialFiles: { 'p.yaml': plan, 'seen.txt': answers.join('\n') } });
    expect(await run(['suspects', 'p.yaml', '--seen', 'seen.txt'], world)).toBe(0);
    expect(world.out()).toContain('No fault shows');
    expect(answers.length).toBeLessThan(12);
  });

  it('when an answer cannot be read then it is said and asked again', async () => {
    const world = fakeWorld({ initialFiles: { 'p.yaml': plan }, answers: ['what?', '12345'] });
    expect(await run(['suspects', 'p.yaml', '--bench'], world)).toBe(130);
    expect(world.err().match(/Set level=/g)).toHaveLength(3);
    expect(world.err()).toContain('digits');
  });

  it('when the answers end early then those given count, on a line of their own, and what still agrees is named', async () => {
    const ended = async (...answers: string[]) => {
      const world = fakeWorld({
        initialFiles: { 'p.yaml': plan, 'seen.txt': 'level=27 zero=chart marks=0: 26\n' },
        answers,
      });
      return { world, exit: await run(['suspects', 'p.yaml', '--bench', '--seen', 'seen.txt'], world) };
    };
    const { world, exit } = await ended();
    expect(exit).toBe(130);
    // The prompt's line is ended before anything else is said.
    expect(world.err()).toMatch(/what does the display show\? \n$/);
    expect(world.out()).toMatch(/^8 explanations still agree with 1 answer\.\n( {2}- Address lines? .*\bA3 .*\n){8}$/);
    const more = await ended('?', '16');
    expect(more.world.out()).toMatch(/with 2 answers|^No known fault .* all 2 answers/);
    const many = fakeWorld({ initialFiles: { 'p.yaml': plan, 'seen.txt': 'level=0 zero=chart marks=0: 0\n' } });
    await run(['suspects', 'p.yaml', '--seen', 'seen.txt'], many);
    const [, count, rest] =
      /^(\d+) explanations .*\n {2}- Nothing is wrong\.\n(?: {2}- .*\n){12} {2}and (\d+) more\.\n$/.exec(many.out())!;
    expect(Number(count)).toBe(1 + 12 + Number(rest));
    const none = fakeWorld({ initialFiles: { 'p.yaml': plan } });
    expect(await run(['suspects', 'p.yaml', '--bench'], none)).toBe(130);
    expect(none.out()).toBe('No answer so far tells anything of the board.\n');
  });

  it('when questions begin then it is said once how a lit point is typed, where the display has one, and how to stop', async () => {
    const pointless = plan.replace('point: D1', 'unused: D1');
    const lines = readFileSync('images/skerry-tally.yaml');
    const stop = 'Ctrl-D (on Windows Ctrl-Z, Enter) ends the questions.\n';
    for (const [text, said] of [
      [plan, `\nA lit point is a . behind its digit, as in 4. ${stop}Set `],
      [pointless, `know.\n${stop}Set `],
      [lines, `know.\n${stop}Set `],
    ] as const) {
      const world = fakeWorld({ initialFiles: { 'p.yaml': text }, answers: ['?'] });
      const rom = text === lines ? ['--rom', 'outlets'] : [];
      expect(await run(['suspects', 'p.yaml', '--bench', ...rom], world)).toBe(130);
      expect(world.err()).toContain(said);
      expect(world.err().split(stop)).toHaveLength(2);
    }
    const silent = fakeWorld({ initialFiles: { 'p.yaml': plan } });
    expect(await run(['suspects', 'p.yaml', '--next'], silent)).toBe(0);
    expect(silent.err()).toBe('');
  });

  it('when a readback is given beside questions then it is refused in words', async () => {
    const world = fakeWorld({ initialFiles: { 'p.yaml': plan, 'r.bin': image } });
    expect(await run(['suspects', 'p.yaml', 'r.bin', '--bench'], world)).toBe(2);
    expect(world.err()).toContain('"suspects" does not use "r.bin"');
  });

  it('when a line of the file is wrong then file, line and column are named', async () => {
    const world = fakeWorld({
      initialFiles: {
        'p.yaml': plan,
        'seen.txt': 'level=3 zero=chart marks=0: 3\nlevel=300 zero=chart marks=0: 3\n',
      },
    });
    expect(await run(['suspects', 'p.yaml', '--seen', 'seen.txt'], world)).toBe(2);
    expect(world.err()).toContain('seen.txt:2:1');
  });
});

describe('observations that cannot be used', () => {
  const seenAs = async (seen: string | Uint8Array, ...more: string[]) => {
    const world = fakeWorld({
      initialFiles: { 'p.yaml': plan, 's.txt': seen, 'none.bin': new Uint8Array(), 'r.bin': image },
    });
    const exit = await run(['suspects', 'p.yaml', '--seen', 's.txt', ...more], world);
    return { exit, out: world.out(), err: world.err() };
  };

  it('when one setting was seen in two ways then both lines are named, and neither counts', async () => {
    const { exit, out, err } = await seenAs('level=3 zero=chart marks=0: 3\n\nlevel=3 zero=0 marks=0: 5\n');
    expect([exit, out]).toEqual([2, '']);
    expect(err).toContain('s.txt:3:1: this setting stands in line 1 too, where "3" was seen.');
    expect((await seenAs('level=3 zero=chart marks=0: 3\nlevel=3 zero=0 marks=0: 3\n')).exit).toBe(0);
  });

  it('when what was seen leaves no healthy board then the exit says so, also while more is to be asked', async () => {
    const { exit, out } = await seenAs('level=3 zero=chart marks=0: 2\n');
    expect(out).toContain('still agree with 1 answer');
    expect(out).not.toContain('Nothing is wrong');
    expect(exit).toBe(1);
  });

  it('when the file is no text then that is one mistake, and nothing of it is shown', async () => {
    const { exit, err } = await seenAs(Uint8Array.of(0xff, 0xfe, 0x00, 0x9b, 0x0a, 0xff));
    expect(exit).toBe(2);
    expect(err).toBe(
      'romkiln: s.txt:1:1: this is no text.\n  A file of observations is text (UTF-8), one setting and what was seen there a line.  [suspect.observation]\n',
    );
  });

  it('when the wanted image has no byte then nothing is said of a readback', async () => {
    const world = fakeWorld({ initialFiles: { 'none.bin': new Uint8Array(), 'r.bin': image } });
    expect(await run(['suspects', 'none.bin', 'r.bin'], world)).toBe(2);
    expect(world.err()).toContain('none.bin contains no bytes.');
  });
});
