// Names of files and what stands in them are shown with their control characters spelled out, in every command that shows names.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.js';
import { seatBench } from '../support/benches.js';
import { fakeWorld } from '../support/fake-world.js';

/** Clears the screen, sets a title, colours by a C1 code, and turns the direction of writing. */
const odd = 'a\u001b[2J\u001b]0;x\u0007\u009b31m\u202eb';
const moving = /[\0-\x09\x0b\x0c\x0e-\x1f\x7f-\x9f\u202e]/;
const hexFile = ':0400000001020304F2\n:00000001FF\n';

const shownBy = async (argv: readonly string[]): Promise<{ out: string; err: string }> => {
  const world = fakeWorld({ initialFiles: { [`${odd}.hex`]: hexFile, 'bad.hex': `:${odd}\n` } });
  await run(argv, world);
  return { out: world.out(), err: world.err() };
};

describe('what a command shows', () => {
  it.each([
    [['compare', `${odd}.srec`, 'bad.hex']],
    [['check', `${odd}.yaml`]],
    [['dump', '-o', odd, '--chip', odd, '--port', odd]],
    [['burn', `${odd}.hex`, '--chip', 'AT28C16', '--port', odd]],
    [[odd]],
    [['chips', odd]],
    [['book', '--label', odd]],
    [['keep', 'show', odd]],
  ])('when names are hostile in case %# then nothing moves the terminal', async (argv) => {
    for (const json of [[], ['--json']]) {
      const { out, err } = await shownBy([...argv, ...json]);
      expect(out + err).not.toMatch(moving);
      expect(out + err).toContain('31m');
      if (json.length > 0) expect(out === '' || JSON.parse(out)).toBeTruthy();
    }
  });

  it.each([
    [['check', 'plan'], 'nothing wrong'],
    [['check', 'mistaken'], 'error: '],
    [['build', 'plan'], 'Written to'],
    [['look', 'plan', '0x5'], 'address 0x0005'],
    [['list', 'plan'], 'register 0'],
  ])(
    'when %j succeeds under a hostile name then nothing moves the terminal, no line is broken or overwritten',
    async (argv, words) => {
      const folder = `${odd}\r\nnext`;
      const text = readFileSync('images/skerry-thermometer.yaml', 'utf8');
      const initialFiles = {
        [`${folder}/plan\r\nnext${odd}.yaml`]: text,
        [`${folder}/mistaken\r\nnext${odd}.yaml`]: text.replace('degrees: A4', 'degrees: A8'),
      };
      const [command = '', name = '', ...more] = argv;
      const world = fakeWorld({ initialFiles });
      await run([command, `${folder}/${name}\r\nnext${odd}.yaml`, ...more], world);
      expect(world.err()).toBe('');
      expect(world.out()).toContain(words);
      expect(world.out()).not.toMatch(moving);
      expect(world.out()).not.toContain('\r');
      if (command === 'build' || command === 'check') expect(world.out()).toContain('\\x0D\\x0A');
      expect(world.out()).not.toMatch(/^next/m);
    },
  );

  it('when a name is given back as JSON then its reader gets the very name', async () => {
    const { out } = await shownBy(['keep', 'show', odd, '--json']);
    expect(JSON.stringify(JSON.parse(out))).toContain('\u009b31m');
  });

  it('when a bench and a file have line ends in their names then they are found, and the result is one line', async () => {
    const world = fakeWorld();
    const port = seatBench(world, 'a\nb.json', 'AT28C16', {});
    expect(await run(['dump', '-o', 'c\nd.bin', '--port', port, '--quiet'], world)).toBe(0);
    expect(world.out()).toMatch(/^2048 bytes of AT28C16 read into c\\x0Ad\.bin \(raw binary\), CRC-32 [0-9A-F]{8}\.\n/);
    expect(world.files.stored.get('c\nd.bin')).toHaveLength(2048);
  });
});
