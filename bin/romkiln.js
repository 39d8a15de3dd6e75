#!/usr/bin/env node
// The program: joins the command line to this process and ends with its exit number.
import { run } from '../dist/cli/run.js';
import { worldOfProcess } from '../dist/cli/world-of-process.js';

process.exitCode = await run(process.argv.slice(2), worldOfProcess());
