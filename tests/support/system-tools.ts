// Programs of the system that some tests need: skipped where they are missing, demanded where ROMKILN_REQUIRE_SYSTEM=1 is set.
import { accessSync, constants, existsSync } from 'node:fs';
import { delimiter, join } from 'node:path';

const runnable = (path: string): boolean => {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
};

/** True when the program can be run; throws instead of returning false when the environment demands it. */
export function systemTool(name: string): boolean {
  const found = (process.env.PATH ?? '').split(delimiter).some((folder) => runnable(join(folder, name)));
  if (!found && process.env.ROMKILN_REQUIRE_SYSTEM === '1')
    throw new Error(`${name} is missing, and ROMKILN_REQUIRE_SYSTEM=1 demands it`);
  return found;
}

/** True when a file of the system is there, such as a header; throws instead of returning false when the environment demands it. */
export function systemFile(path: string): boolean {
  const found = existsSync(path);
  if (!found && process.env.ROMKILN_REQUIRE_SYSTEM === '1')
    throw new Error(`${path} is missing, and ROMKILN_REQUIRE_SYSTEM=1 demands it`);
  return found;
}
