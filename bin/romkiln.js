#!/usr/bin/env node
// The program: joins the command line to this process and ends with its exit number.
import { run } from '../dist/cli/run.js';
import { worldOfProcess } from '../dist/cli/world-of-process.js';

const exit = await run(process.argv.slice(2), worldOfProcess());
// Ended by name: a terminal that still could be read, or a helper program that hangs, must not keep a finished command alive.
process.stdout.write('', () => process.exit(exit));
