// npm run bench: the whole table, or the sections named; or one of the TypeScript files beside this one, where its name comes first.
// What they import from src is taken from dist, so that the code is measured that users run.
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { createJiti } from 'jiti';

const dist = fileURLToPath(new URL('../dist', import.meta.url));
const jiti = createJiti(import.meta.url, { alias: { '../src': dist } });
const words = process.argv.slice(2);
const named = words[0] !== undefined && existsSync(new URL(`./${words[0]}.ts`, import.meta.url));
const { main } = await jiti.import(`./${named ? words.shift() : 'whole-table'}.ts`);
await main(words);
