// Puts the command line into a few CommonJS files, dist/run: from some 240 modules Node needs three times as long to start (measured).
import { readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build, transform } from 'esbuild';
import { keepCompiled } from './parts.cjs';

const top = fileURLToPath(new URL('..', import.meta.url));
const folder = join(top, 'dist/run');
/** What the program uses of those modules of Node that take long to load; most commands need none of it. */
const usedOfSlow = { 'node:child_process': ['spawn'], 'node:crypto': ['createHash'] };
const loadedWithFirstUse = {
  name: 'loaded with the first use',
  setup({ onResolve, onLoad }) {
    const filter = new RegExp(`^(${Object.keys(usedOfSlow).join('|')})$`);
    onResolve({ filter }, ({ path, namespace }) =>
      namespace === 'slow' ? { path, external: true } : { path, namespace: 'slow' },
    );
    onLoad({ filter: /.*/, namespace: 'slow' }, ({ path }) => ({
      contents: `module.exports = { ${usedOfSlow[path].map((name) => `get ${name}() { return require('${path}').${name}; }`).join(', ')} };`,
    }));
  },
};
const shared = {
  bundle: true,
  platform: 'node',
  target: 'node20',
  minifyWhitespace: true,
  legalComments: 'none',
  metafile: true,
  plugins: [loadedWithFirstUse],
  // Native code and the loader of plan modules stay packages of their own.
  external: ['@serialport/*', 'serialport', 'jiti'],
};

rmSync(folder, { recursive: true, force: true });
// Only modules can be split, so that a command loads what it needs; then each part becomes CommonJS, which loads at once.
const parts = await build({
  ...shared,
  stdin: {
    contents:
      "export { run } from './cli/run.js'; export { endProcess, worldOfProcess } from './cli/world-of-process.js';",
    resolveDir: join(top, 'dist'),
    sourcefile: 'romkiln.js',
  },
  format: 'esm',
  splitting: true,
  outdir: folder,
  outExtension: { '.js': '.cjs' },
  entryNames: 'romkiln',
});
for (const name of readdirSync(folder)) {
  const path = join(folder, name);
  const { code } = await transform(readFileSync(path, 'utf8'), {
    format: 'cjs',
    platform: 'node',
    target: 'node20',
    minifyWhitespace: true,
    supported: { 'dynamic-import': false },
    define: { 'import.meta.url': '__url' },
    banner: 'const __url=require("node:url").pathToFileURL(__filename).href;',
  });
  writeFileSync(path, code);
}
// The process of a plan module imports that module, which only a module can.
const child = await build({
  ...shared,
  entryPoints: [join(top, 'dist/cli/world-plan-child.js')],
  format: 'esm',
  outfile: join(folder, 'world-plan-child.js'),
});

/** The packages whose code is inside, by their folders. */
const packages = new Set(
  [parts, child].flatMap(({ metafile }) =>
    Object.keys(metafile.inputs).flatMap((input) => /^.*node_modules\/(?:@[^/]+\/)?[^/]+/.exec(input)?.[0] ?? []),
  ),
);
const licences = [...packages].sort().map((path) => {
  const at = join(process.cwd(), path);
  const { name, version, license } = JSON.parse(readFileSync(join(at, 'package.json'), 'utf8'));
  const file = readdirSync(at).find((found) => /^licen[cs]e/i.test(found));
  const text = file ? readFileSync(join(at, file), 'utf8').trim() : 'The package brings no text of it.';
  return `${name} ${version}: ${license}\n\n${text}\n`;
});
writeFileSync(
  join(folder, 'LICENCES.txt'),
  `The files of this folder hold code of these packages.\n\n${licences.join('\n----\n\n')}`,
);

/** Commands that work with most of what commands have in common. */
const usual = [['--help'], ['chips'], ['check', join(top, 'images/skerry-thermometer.yaml')]];
await keepCompiled(folder, async ({ run, worldOfProcess }) => {
  const silent = { write: () => {}, isTerminal: false, columns: 80 };
  for (const words of usual) await run(words, { ...worldOfProcess(), stdout: silent, stderr: silent });
});
