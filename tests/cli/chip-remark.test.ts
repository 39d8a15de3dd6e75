// A plan made for one chip and used with another: one line says both and what it means, and nothing is said where they agree.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.js';
import { seatBench } from '../support/benches.js';
import { fakeWorld } from '../support/fake-world.js';

const plan = readFileSync('tests/support/tide-gauge.yaml', 'utf8');
const large = plan.replace('chip: 28C16', 'chip: 28C64').replace('zero: A7', 'zero: A7\n      high: [A11, A12]');

async function romkiln(seated: string, argv: readonly string[], chip?: string) {
  const environment = chip === undefined ? {} : { ROMKILN_CHIP: chip };
  const initialFiles = { 'p.yaml': plan, 'large.yaml': large, 'long.bin': new Uint8Array(8192) };
  const world = fakeWorld({ initialFiles, environment });
  const port = seatBench(world, 'b.json', seated, { cycleUs: 200 });
  const exit = await run([...argv, ...(argv[0] === 'compare' ? [] : ['--port', port]), '--quiet'], world);
  return { exit, out: world.out(), err: world.err() };
}

const planned =
  /^p\.yaml is made for 28C16 \(2048 cells\), and the chip here is taken as AT28C64B \(8192 cells\): the cells from 0x0800 up are left out, and the circuit has to hold A11 to A12 low\.$/m;

describe('a plan and another chip', () => {
  it.each(['burn', 'verify'])('when %s is told a larger chip then it says so once, on stderr', async (command) => {
    const { exit, out, err } = await romkiln('AT28C64B', [command, 'p.yaml', '--chip', 'AT28C64B', '--json']);
    expect(err).toMatch(planned);
    expect(err.trim().split('\n')).toHaveLength(1);
    expect(JSON.parse(out)).toMatchObject({ command });
    expect(exit).toBe(command === 'burn' ? 0 : 1);
  });

  it('when the chip is a member of the family then nothing is said', async () => {
    expect((await romkiln('AT28C16E', ['burn', 'p.yaml'])).err).toBe('');
    expect((await romkiln('AT28C16E', ['burn', 'p.yaml', '--chip', 'AT28C16E'])).err).toBe('');
  });

  it('when the chip is too small then the reason stands before the refusal', async () => {
    const { exit, err } = await romkiln('AT28C16E', ['burn', 'large.yaml', '--chip', 'AT28C16E']);
    expect(exit).toBe(2);
    expect(err).toMatch(
      /made for 28C64 \(8192 cells\), .* AT28C16E \(2048 cells\): only what stands below 0x0800 fits/,
    );
    expect(err).toContain('[job.image-beyond-chip]');
  });

  it('when the seated chip is larger than the plan or ROMKILN_CHIP says then its upper cells are named', async () => {
    const seated =
      /The bench holds AT28C64B \(8192 cells\), and it is taken as \S+ \(2048 cells\): the cells from 0x0800 up/;
    expect((await romkiln('AT28C64B', ['burn', 'p.yaml'])).err).toMatch(seated);
    expect((await romkiln('AT28C64B', ['verify', 'p.yaml'], 'AT28C16E')).err).toMatch(seated);
  });

  it('when a plan is compared with a longer image then the rest is named', async () => {
    const { err } = await romkiln('AT28C16E', ['compare', 'p.yaml', 'long.bin']);
    expect(err).toBe(
      'p.yaml is made for 28C16 (2048 cells), and long.bin has 8192 cells: those from 0x0800 up are not compared.\n',
    );
    expect((await romkiln('AT28C16E', ['compare', 'long.bin', 'p.yaml'])).err).toBe('');
  });
});
