// The project's own source files and what they import, read as text.
import { readdirSync } from 'node:fs';
import { join } from 'node:path';

/** All TypeScript files below a folder, sorted. */
export const sourceFiles = (folder: string): string[] =>
  readdirSync(folder, { withFileTypes: true, recursive: true })
    .filter((e) => e.isFile() && e.name.endsWith('.ts'))
    .map((e) => join(e.parentPath, e.name))
    .sort();

export interface Import {
  readonly specifier: string;
  /** `import type`, `export type`: leaves nothing at run time. */
  readonly typeOnly: boolean;
}

/** Static and dynamic imports and re-exports of one file. */
export function importsOf(text: string): Import[] {
  const found: Import[] = [];
  const statics = /^\s*(?:import|export)\s+(type\s+)?(?:[^'";]*?\sfrom\s+)?'([^']+)'/gm;
  for (const m of text.matchAll(statics)) found.push({ specifier: m[2] ?? '', typeOnly: m[1] !== undefined });
  for (const m of text.matchAll(/(?:\btypeof\s+)?\bimport\(\s*'([^']+)'\s*\)/g))
    found.push({ specifier: m[1] ?? '', typeOnly: m[0].startsWith('typeof') });
  return found;
}
