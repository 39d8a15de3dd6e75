// The process in which a plan module runs: loads it, and hands what it gives as plain data to the process that asked.
import { closeSync, writeSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, resolve } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { types } from 'node:util';
import { serialize } from 'node:v8';
import { Worker } from 'node:worker_threads';
import { recordPlan } from '../plan/module-value.js';
import { diskFiles } from './world-files.js';
import { answerChannel, lifeChannel, type ModuleAnswer, type ModuleFault } from './world-plan-answer.js';

/** Folders of the loader and of this program, of which no place helps the writer of a plan. */
const ownFolders = [
  dirname(fileURLToPath(new URL('..', import.meta.url))),
  dirname(dirname(createRequire(import.meta.url).resolve('jiti'))),
];

const pathOf = (place: string): string => (place.startsWith('file:') ? fileURLToPath(place) : place);

function placeOf(stack: string): ModuleFault['place'] {
  for (const line of stack.split('\n')) {
    const match = /^\s+at (?:.*\()?(.+?):(\d+):(\d+)\)?$/.exec(line);
    if (!match || match[1]!.startsWith('node:')) continue;
    const file = pathOf(match[1]!);
    if (file.startsWith('/') && ownFolders.some((folder) => file.startsWith(`${folder}/dist/`))) continue;
    return { file, line: Number(match[2]), column: Number(match[3]) };
  }
  return null;
}

/** The parser of the module loader counts columns from 0. */
const parserWords = /^(?:\w*Error: )*(.*?)\s*\n\s*(.+):(\d+):(\d+)\s*$/s;

function faultOf(error: unknown): ModuleFault {
  try {
    if (!types.isNativeError(error)) return { message: `it throws ${String(error)}`, place: null };
    const parsed = parserWords.exec(error.message);
    if (parsed)
      return {
        message: parsed[1]!,
        place: { file: pathOf(parsed[2]!), line: Number(parsed[3]), column: Number(parsed[4]) + 1 },
      };
    return { message: error.message.split('\n')[0] ?? '', place: placeOf(error.stack ?? '') };
  } catch {
    return { message: 'it throws something that cannot be shown', place: null };
  }
}

/** In a thread of its own, since a module may never come back: ends this process with the one that asked. */
const watch = `const { Socket } = require('node:net');
new Socket({ fd: ${lifeChannel} }).on('close', () => process.kill(process.pid, 'SIGKILL')).resume();`;
new Worker(watch, { eval: true }).unref();

let answered = false;

function answer(what: ModuleAnswer): never {
  if (!answered) {
    answered = true;
    const bytes = serialize(what);
    for (let done = 0; done < bytes.length; ) {
      try {
        done += writeSync(answerChannel, bytes, done);
      } catch (error) {
        if ((error as { code?: string }).code !== 'EAGAIN') throw error;
      }
    }
    closeSync(answerChannel);
  }
  process.exit();
}

const byTypes = /\.[cm]?ts$/i;

/** Node's own way is many times quicker; what it cannot read (types, imports without an ending) the loader can. */
async function defaultOf(path: string): Promise<{ readonly found: unknown }> {
  if (!byTypes.test(path)) {
    try {
      const found = ((await import(pathToFileURL(path).href)) as { default?: unknown }).default;
      const inner = types.isProxy(found)
        ? undefined
        : (found as { __esModule?: unknown; default?: unknown } | undefined);
      return { found: inner?.__esModule === true ? inner.default : found };
    } catch (error) {
      const code = (error as { code?: unknown } | null)?.code;
      if (!(error instanceof SyntaxError) && !(typeof code === 'string' && code.startsWith('ERR_'))) throw error;
    }
  }
  const { createJiti } = await import('jiti');
  const loaded = createJiti(import.meta.url, { fsCache: false }).import(path);
  return { found: ((await loaded) as { default?: unknown }).default };
}

// Nothing is left that could settle what is waited for.
process.on('beforeExit', () =>
  answer({ fault: { message: 'it waits for a promise that never settles', place: null } }),
);
process.on('exit', (code) => {
  if (answered) return;
  answer({ fault: { message: `it ends the process (exit ${code}) before its plan is there`, place: null } });
});
for (const event of ['uncaughtException', 'unhandledRejection'] as const)
  process.on(event, (error: unknown) => answer({ fault: faultOf(error) }));

const [, , path = ''] = process.argv;
try {
  const { found } = await defaultOf(resolve(path));
  answer({ plan: await recordPlan(found, (name) => diskFiles.read(resolve(dirname(path), name))) });
} catch (error) {
  answer({ fault: faultOf(error) });
}
