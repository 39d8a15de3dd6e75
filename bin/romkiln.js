#!/usr/bin/env node
// The program: joins the command line to this process and ends with its exit number.
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const inTop = (path) => fileURLToPath(new URL(`../${path}`, import.meta.url));

/** Only a clone can be without what an installed package brings. */
function sayNotInstalled() {
  process.stderr.write(
    `romkiln: This clone is not installed yet: ${inTop('')} has no ${existsSync(inTop('dist')) ? 'packages' : 'dist'}.\n` +
      '  Run "npm start" there once: it installs and builds what is missing, and shows what romkiln does.  [cli.not-installed]\n',
  );
  process.exit(2);
}

const isMissing = (error) => ['ERR_MODULE_NOT_FOUND', 'MODULE_NOT_FOUND'].includes(error?.code);

try {
  const { run } = await import('../dist/cli/run.js');
  const { endProcess, worldOfProcess } = await import('../dist/cli/world-of-process.js');
  endProcess(await run(process.argv.slice(2), worldOfProcess()));
} catch (error) {
  if (!isMissing(error)) throw error;
  sayNotInstalled();
}
