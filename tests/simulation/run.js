// Compiles the tool and its simulation into the cache of node_modules, and runs one of its programs from there: a hundred
// thousand commands want plain JavaScript. Types are checked elsewhere; here they are only taken away.
import { spawnSync } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

const top = fileURLToPath(new URL('../..', import.meta.url));
const cache = join(top, 'node_modules', '.cache', 'romkiln');
mkdirSync(cache, { recursive: true });
// Below node_modules nothing says that these files are ES modules.
writeFileSync(join(cache, 'package.json'), '{"type":"module"}\n');
const compiler = join(top, 'node_modules', 'typescript', 'bin', 'tsc');
const compiled = spawnSync(process.execPath, [compiler, '-p', join(top, 'tests', 'simulation')], { stdio: 'inherit' });
if (compiled.status !== 0) process.exit(compiled.status ?? 1);
process.chdir(top);
const [program] = process.argv.splice(2, 1);
await import(pathToFileURL(join(cache, 'tests', `${program}.js`)));
