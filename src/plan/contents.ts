// The kinds of contents, and how contents of any kind are compiled.

import { bankContents } from './bank-contents.js';
import { complaints, meantOrKnown } from './complaints.js';
import { controlByAddress } from './control/control-by-address.js';
import { controlByStep } from './control/control-by-step.js';
import { decimalDisplay } from './decimal-display.js';
import { functionContents } from './function-table.js';
import { compileJoined } from './joined-table.js';
import { outlineOf } from './outline.js';
import { piecesContents } from './pieces.js';
import { checkShape, isMap } from './schema-mistake.js';
import { isAt, soundPart } from './sound-part.js';
import type { Compiled, ContentsKind, Fields, Path, ReadFile } from './table.js';
import { truthTable } from './truth-table.js';
import { tooWide } from './value-grid.js';

/** Kinds differ in what their compilers take; each is handed only what its own schema passed. */
const anyKind = <C>(kind: ContentsKind<C>): ContentsKind<never> => kind as unknown as ContentsKind<never>;

export const contentsKinds: readonly ContentsKind<never>[] = [
  anyKind(decimalDisplay),
  anyKind(truthTable),
  anyKind(controlByStep),
  anyKind(controlByAddress),
  anyKind(functionContents),
  anyKind(piecesContents),
  anyKind(bankContents(compileContents)),
];

/** Compiles contents of any kind, or a list of such side by side; paths of findings count from the contents. */
export function compileContents(contents: unknown, fields: Fields, readFile: ReadFile | null): Compiled {
  if (Array.isArray(contents)) return compileJoined(contents, (one) => compileOne(one, fields, readFile));
  return compileOne(contents, fields, readFile);
}

function compileOne(contents: unknown, fields: Fields, readFile: ReadFile | null): Compiled {
  const failed = (message: string, why: string, path: Path): Compiled => ({
    table: null,
    findings: [{ severity: 'error', code: 'contents.kind', message, why, path }],
  });
  const names = contentsKinds.map((k) => k.kind);
  const list = `Kinds are: ${names.join(', ')}.`;
  if (!isMap(contents)) {
    return failed('The contents are not a map of keys.', `Begin them with "kind:". ${list}`, []);
  }
  const named = contents.kind;
  const kind = contentsKinds.find((k) => k.kind === named);
  if (!kind) {
    if (named === undefined) return failed('The contents do not say their kind.', list, []);
    if (typeof named !== 'string') return failed('The kind of the contents is not a word.', list, ['kind']);
    return failed(`There is no kind of contents "${named}".`, meantOrKnown(named, names), ['kind']);
  }
  const compiled = compileKind(kind, contents, fields, readFile);
  if (compiled.table !== null) return compiled;
  const outputs = kind.outputsOf(contents);
  return { table: outputs && outlineOf({ inputs: new Map(), outputs }), findings: compiled.findings };
}

function compileKind(
  kind: ContentsKind<never>,
  contents: Readonly<Record<string, unknown>>,
  fields: Fields,
  readFile: ReadFile | null,
): Compiled {
  const { output, findings } = checkShape(kind.schema, contents, 'The contents');
  if (output !== null) return bounded(kind.compile(output as never, fields, readFile));
  const part = soundPart(contents, findings, kind.forgiving);
  const sound = part && checkShape(kind.schema, part.contents, 'The contents').output;
  if (sound === null) return { table: null, findings };
  const { table, findings: found } = bounded(kind.compile(sound as never, fields, readFile));
  // Warnings may lean on what was taken out; of the errors only those elsewhere are news.
  const more = [...found, ...(table?.findings() ?? [])].filter(
    (f) => f.severity === 'error' && !isAt(f.path, part!.without),
  );
  return { table: table && outlineOf(table), findings: [...findings, ...more] };
}

/** Tables are looked through whole, so their inputs are kept to what a chip could take. */
function bounded(compiled: Compiled): Compiled {
  const complaining = complaints([...compiled.findings]);
  const wide = compiled.table !== null && tooWide(compiled.table.inputs.values(), complaining);
  return wide ? { table: null, findings: complaining.findings } : compiled;
}
