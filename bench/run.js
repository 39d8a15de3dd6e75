// npm run bench: loads one of the TypeScript files beside this one, `whole-table` where none is named. What they import from
// src is taken from dist, so that the code is measured that users run.
import { fileURLToPath } from 'node:url';
import { createJiti } from 'jiti';

const dist = fileURLToPath(new URL('../dist', import.meta.url));
const jiti = createJiti(import.meta.url, { alias: { '../src': dist } });
const { main } = await jiti.import(`./${process.argv[2] ?? 'whole-table'}.ts`);
await main(process.argv.slice(3));
