// Around `npm pack`: the package gets a package.json without what only a clone can run; then the clone has its own again.
import { existsSync, mkdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const top = fileURLToPath(new URL('..', import.meta.url));
const own = join(top, 'package.json');
const aside = join(top, 'node_modules/.package.json');

const restore = () => {
  if (existsSync(aside)) renameSync(aside, own);
};

// Also before: a pack that was killed left its own there.
restore();
if (process.argv[2] === 'strip') {
  const text = readFileSync(own, 'utf8');
  const { scripts: _, devDependencies: __, allowScripts: ___, ...facts } = JSON.parse(text);
  mkdirSync(join(top, 'node_modules'), { recursive: true });
  writeFileSync(aside, text);
  writeFileSync(own, `${JSON.stringify(facts, null, 2)}\n`);
}
