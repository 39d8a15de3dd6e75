// Makes a fresh clone ready: installs the packages of package-lock.json and builds dist, each only when it is out of date.
import { spawnSync } from 'node:child_process';
import { existsSync, readdirSync, rmSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const top = fileURLToPath(new URL('..', import.meta.url));
const changed = (path) => (existsSync(join(top, path)) ? statSync(join(top, path)).mtimeMs : 0);

function runOrEnd(program, words, why) {
  console.error(`romkiln: ${why}`);
  const result = spawnSync(program, words, {
    cwd: top,
    stdio: ['ignore', 'ignore', 'inherit'],
    shell: process.platform === 'win32',
  });
  if (result.status === 0) return;
  console.error(`romkiln: "${program} ${words.join(' ')}" failed; nothing was started.`);
  process.exit(result.status ?? 1);
}

const newestSource = () =>
  readdirSync(join(top, 'src'), { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .reduce(
      (newest, entry) => Math.max(newest, statSync(join(entry.parentPath, entry.name)).mtimeMs),
      changed('tsconfig.json'),
    );

if (changed('node_modules/.package-lock.json') < changed('package-lock.json'))
  runOrEnd(
    'npm',
    ['ci', '--ignore-scripts', '--no-audit', '--no-fund', '--loglevel=error'],
    'installing the packages of package-lock.json ...',
  );
if (changed('dist/index.js') < newestSource()) {
  // What a file that is gone was built to would still be shipped.
  rmSync(join(top, 'dist'), { recursive: true, force: true });
  runOrEnd(process.execPath, ['node_modules/typescript/bin/tsc', '-p', '.'], 'building dist ...');
}
if (changed('dist/run/romkiln.cjs') < changed('dist/index.js'))
  runOrEnd(process.execPath, ['bin/bundle.js'], 'putting the command line into a few files ...');
