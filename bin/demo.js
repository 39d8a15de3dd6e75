// npm start: the main job on the emulated bench, as the commands a builder would type, with what they print.
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { run } from '../dist/cli/run.js';
import { worldOfProcess } from '../dist/cli/world-of-process.js';

process.chdir(fileURLToPath(new URL('..', import.meta.url)));
const folder = mkdtempSync(join(tmpdir(), 'romkiln-'));
const inFolder = (name) => join(folder, name);
const bench = `emulated:${inFolder('bench.json')}`;
const plan = 'images/skerry-thermometer.yaml';
// The demonstration keeps its keep and its book to itself.
const world = { ...worldOfProcess(), dataFolder: inFolder('data') };

/** Runs one command as it would be typed; the demonstration ends when it does not end as it should. */
async function romkiln(words, expected = 0) {
  // As it has to be typed: a word with a space in it needs quotes.
  const typed = words.map((word) => (word.includes(' ') ? `"${word}"` : word));
  process.stdout.write(`\n$ romkiln ${typed.join(' ').replaceAll(folder, '.')}\n`);
  const exit = await run(words, world);
  if (exit === expected) return;
  process.stdout.write(`\nThis should have ended with ${expected}, but ended with ${exit}.\n`);
  process.exitCode = exit === 0 ? 70 : exit;
  throw new Error('the demonstration stopped');
}

const say = (text) => process.stdout.write(`\n--- ${text}\n`);

try {
  say(
    'The thermometer of the Skerry weather post shows a 9-bit register on five digits. Its plan says so in words; is it sound?',
  );
  await romkiln(['check', plan]);
  await romkiln(['build', plan, '-o', folder, '--format', 'hex']);
  say('What will the display show? Before anything is burned:');
  for (const [register, degrees] of [
    ['50', 'celsius'],
    ['50', 'fahrenheit'],
    ['-80', 'fahrenheit'],
    ['-120', 'celsius'],
  ])
    await romkiln(['look', plan, `register=${register}`, `degrees=${degrees}`, 'place=0']);
  say('A bench: the real firmware on an emulated microcontroller, wired to an emulated AT28C64B full of old bytes.');
  await romkiln(['emulate', 'new', inFolder('bench.json'), '--chip', 'AT28C64B', '--fill', 'random']);
  say('Burn it. What was there goes into the keep first; then everything is read back.');
  await romkiln(['burn', plan, '--port', bench, '--label', 'U3']);
  await romkiln(['verify', plan, '--port', bench]);
  await romkiln(['dump', '-o', inFolder('readback.bin'), '--port', bench]);
  await romkiln(['compare', inFolder('skerry-thermometer.hex'), inFolder('readback.bin')]);
  say('Now one cell loses a bit. The difference is said in the words of the plan:');
  await romkiln(['emulate', 'fault', inFolder('bench.json'), 'decayed 0x1186']);
  await romkiln(['verify', plan, '--port', bench], 1);
  say('Burning again writes only the page that is wrong.');
  await romkiln(['burn', plan, '--port', bench, '--label', 'U3']);
  await romkiln(['book', '--label', 'U3']);
  say('All of it ran on the emulated bench; no hardware was touched. README.md goes on from here.');
} finally {
  rmSync(folder, { recursive: true, force: true });
}
