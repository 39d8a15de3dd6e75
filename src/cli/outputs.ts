// Where a command may put what it makes: one set of rules for every file that a person asks for.
import { sep } from 'node:path';
import { ToolError } from '../ground/errors.js';
import type { Files } from '../ground/files.js';
import { isPlanFile } from './plan-file.js';
import type { World } from './world.js';

/**
 * Tells whether what stands at a path is what the same command made before, and so can be made again. `peek` reads a file
 * without making it an input of the command; null where there is none.
 */
export type MadeBefore = (there: Uint8Array, peek: Files['readIfThere']) => boolean;

export interface Outputs {
  /** Throws what `write` would, as far as that can be told beforehand: before the work that makes the bytes. */
  check(path: string, madeBefore?: MadeBefore): void;
  write(path: string, data: Uint8Array | string, madeBefore?: MadeBefore): void;
}

/** How the text of every bench file begins. */
const benchText = /^\s*\{\s*"format":\s*"romkiln bench"/;
const nobody: MadeBefore = () => false;

/** A world that notes which files are read in it and keeps its words off bytes on standard output, and the rules that keep outputs off those and off all else that is dear. */
export function guardedOutputs(outside: World): {
  readonly world: World;
  readonly outputsOf: (overwrite: boolean) => Outputs;
} {
  const { files } = outside;
  const inputs = new Set<string>();
  // By number and by path: a bench is another file after each time it is saved.
  const namesOf = (path: string): readonly string[] => [files.standing(path).identity, files.truePath(path)];
  const note = (path: string): void => {
    for (const name of namesOf(path)) inputs.add(name);
  };
  const noting = Object.assign(Object.create(files) as typeof files, {
    read(path: string) {
      note(path);
      return files.read(path);
    },
    readIfThere(path: string) {
      note(path);
      return files.readIfThere(path);
    },
  });
  let bytesOnStdout = false;
  const stdout = Object.assign(Object.create(outside.stdout) as typeof outside.stdout, {
    write: (text: string) => (bytesOnStdout ? outside.stderr : outside.stdout).write(text),
  });
  const world: World = {
    ...outside,
    stdout,
    files: noting,
    readInput(path) {
      note(path);
      return outside.readInput(path);
    },
  };

  /** Why nothing that is asked for may ever stand here; null where it may. */
  function dearness(path: string): string | null {
    const place = files.truePath(path);
    const { dataFolder } = world;
    if (place.startsWith(files.truePath(dataFolder) + sep)) return 'keep and book stand in that folder';
    if (files.standing(path).kind !== 'file') return null;
    if (namesOf(path).some((name) => inputs.has(name))) return 'this command reads it';
    if (isPlanFile(path) || isPlanFile(place)) return 'it is a plan';
    const begin = Buffer.from(files.read(path).subarray(0, 200)).toString('latin1');
    return benchText.test(begin) ? 'it is an emulated bench' : null;
  }

  const checkFor = (overwrite: boolean) => (path: string, madeBefore: MadeBefore) => {
    bytesOnStdout ||= files.standing(path).kind === 'standard output';
    const why = dearness(path);
    if (why !== null) throw new ToolError('cli.output-dear', { path, why });
    files.checkReplace(path);
    if (overwrite || files.standing(path).kind !== 'file' || madeBefore(files.read(path), files.readIfThere)) return;
    throw new ToolError('cli.output-in-the-way', { path });
  };

  return {
    world,
    outputsOf: (overwrite) => {
      const check = checkFor(overwrite);
      return {
        check: (path, madeBefore = nobody) => check(path, madeBefore),
        write(path, data, madeBefore = nobody) {
          check(path, madeBefore);
          files.replace(path, data);
        },
      };
    },
  };
}
