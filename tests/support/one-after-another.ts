// Commands one after another in one world of files, each with its own output.
import { run } from '../../src/cli/run.js';
import { type FakeWorld, fakeWorld } from './fake-world.js';

/** Runs one command in a world that carries the files of another, so that outputs stay apart. */
export async function romkiln(files: FakeWorld['files'], ...argv: string[]) {
  const world = fakeWorld();
  for (const [path, bytes] of files.stored) world.files.stored.set(path, bytes);
  const exit = await run([...argv, '--quiet'], world);
  files.stored.clear();
  for (const [path, bytes] of world.files.stored) files.stored.set(path, bytes);
  return { exit, out: world.out(), err: world.err(), json: () => JSON.parse(world.out()) };
}
