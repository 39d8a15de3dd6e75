#!/usr/bin/env node
// The program: joins the command line to this process and ends with its exit number. CommonJS, because that is there soonest.
const { existsSync, statSync } = require('node:fs');
const { join } = require('node:path');

const top = join(__dirname, '..');
const inTop = (path) => join(top, path);
const changed = (path) => (existsSync(inTop(path)) ? statSync(inTop(path)).mtimeMs : 0);

/** The parts of dist/run, or the modules that they are made from where those are newer. */
async function program() {
  if (existsSync(inTop('dist/run')) && changed('dist/run/romkiln.cjs') >= changed('dist/cli/run.js'))
    return require('./parts.cjs').loadProgram(inTop('dist/run'));
  return { ...(await import('../dist/cli/run.js')), ...(await import('../dist/cli/world-of-process.js')) };
}

/** Only a clone can be without what an installed package brings. */
function sayNotInstalled() {
  process.stderr.write(
    `romkiln: This clone is not installed yet: ${top}/ has no ${existsSync(inTop('dist')) ? 'packages' : 'dist'}.\n` +
      '  Run "npm start" there once: it installs and builds what is missing, and shows what romkiln does.  [cli.not-installed]\n',
  );
  process.exit(2);
}

program().then(
  async ({ run, worldOfProcess, endProcess }) => endProcess(await run(process.argv.slice(2), worldOfProcess())),
  (error) => {
    if (!['ERR_MODULE_NOT_FOUND', 'MODULE_NOT_FOUND'].includes(error?.code)) throw error;
    sayNotInstalled();
  },
);
