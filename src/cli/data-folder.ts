// Where the keep, the book and the default bench of a user live.
import { posix, win32 } from 'node:path';

/** Where a user without a home has his: it is not there, so what has to be kept is refused, and all else works. */
const noHome = '/nonexistent';

function homeOf(home: () => string): string {
  try {
    return home() || noHome;
  } catch {
    return noHome;
  }
}

/**
 * The folder by the platform's convention: LOCALAPPDATA on Windows, Application Support
 * on macOS, XDG_DATA_HOME (XDG base directories) elsewhere. `home` may throw where the user has none.
 */
export function dataFolder(
  environment: Readonly<Record<string, string | undefined>>,
  platform: string,
  home: () => string,
): string {
  // By the platform's own rule, whichever this is, so that each can be tried on any.
  const { join } = platform === 'win32' ? win32 : posix;
  const fromHome = (...names: string[]): string => join(homeOf(home), ...names);
  if (platform === 'win32') return join(environment.LOCALAPPDATA || fromHome('AppData', 'Local'), 'romkiln');
  if (platform === 'darwin') return fromHome('Library', 'Application Support', 'romkiln');
  return join(environment.XDG_DATA_HOME || fromHome('.local', 'share'), 'romkiln');
}
