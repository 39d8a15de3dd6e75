// A plan's YAML as a plain value with a position for every part of it; hostile text is refused quickly.
import {
  type Document,
  isAlias,
  isMap,
  isNode,
  isScalar,
  isSeq,
  Lexer,
  LineCounter,
  type Node,
  parseDocument,
  type Scalar,
  visit,
} from 'yaml';
import { hex } from '../ground/byte-text.js';
import { ToolError, ToolErrors } from '../ground/errors.js';
import type { Path } from './table.js';

/** Line and column from 1. */
export interface Position {
  readonly line: number;
  readonly column: number;
}

/** Where a path of the plan stands; null where the plan is a module and has no text. */
export type PositionOf = (path: Path, onKey?: boolean, within?: { line: number; column: number }) => Position | null;

export interface PlanText {
  readonly value: unknown;
  readonly positionOf: PositionOf;
}

// The YAML library takes time that grows with text, errors and depth, and fails badly at deep nesting (measured: a line of
// 1000 dashes ends the process). These bounds keep any text under a second and are far above any plan for people.
const bounds = { characters: 256 * 1024, lexemes: 150_000, depth: 64, indent: 200, mistakes: 20 };

const madeByProgram = 'A plan is a small file; a table this large is better written as a module with a function.';

type Refusal = { at: number; message: string; why: string };

/** What makes a text not worth parsing, by looking at its characters alone. */
function refusalOf(text: string): Refusal | null {
  if (text.length > bounds.characters)
    return { at: 0, message: `The plan is ${text.length} characters long.`, why: madeByProgram };
  const control = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f\ufffd]/.exec(text);
  if (control) return { at: control.index, ...controlRefusal(control[0]) };
  return nestingRefusal(text);
}

const controlRefusal = (character: string): Omit<Refusal, 'at'> => ({
  message: `There is a character U+${hex(character.charCodeAt(0), 4)}.`,
  why: 'A plan is UTF-8 text without control characters.',
});

function nestingRefusal(text: string): Refusal | null {
  const deep = (at: number): Refusal => ({
    at,
    message: 'The text is nested too deeply.',
    why: `A plan nests at most ${bounds.depth} deep.`,
  });
  let depth = 0;
  let indicators = 0;
  let indent = 0;
  let onlySpacesYet = true;
  for (let i = 0; i < text.length; i++) {
    const c = text[i];
    if (c === '\n') {
      indicators = 0;
      indent = 0;
      onlySpacesYet = true;
      continue;
    }
    if (onlySpacesYet && (c === ' ' || c === '\t')) indent++;
    else onlySpacesYet = false;
    if (c === '[' || c === '{') depth++;
    else if ((c === ']' || c === '}') && depth > 0) depth--;
    else if ((c === '-' || c === '?' || c === ':') && /\s/.test(text[i + 1] ?? ' ')) indicators++;
    if (depth > bounds.depth || indicators > 2 * bounds.depth || indent > bounds.indent) return deep(i);
  }
  return null;
}

function tooManyLexemes(text: string): Refusal | null {
  let lexemes = 0;
  let at = 0;
  for (const lexeme of new Lexer().lex(text)) {
    at += lexeme.length;
    if (++lexemes > bounds.lexemes)
      return { at: Math.min(at, text.length), message: 'The plan goes on for too long.', why: madeByProgram };
  }
  return null;
}

const keyOf = (key: unknown): string => String(isScalar(key) ? key.value : key);

/** Control characters that a quoted text spells out (`"\\e[2J"`): they would act on the terminal that shows them. */
function spelledControls(root: Node): Refusal[] {
  const found: Refusal[] = [];
  visit(root, {
    Scalar(_, { value, range }) {
      const control = typeof value === 'string' ? /[\u0000-\u0008\u000b-\u001f\u007f-\u009f]/.exec(value) : null;
      if (control) found.push({ at: range?.[0] ?? 0, ...controlRefusal(control[0]) });
    },
  });
  return found;
}

/** Keys written twice in one map; looked for here because the library compares every key with every other. */
function duplicateKeys(root: Node): { key: string; at: number }[] {
  const found: { key: string; at: number }[] = [];
  visit(root, {
    Map(_, map) {
      const seen = new Set<string>();
      for (const pair of map.items) {
        const key = keyOf(pair.key);
        if (seen.has(key)) found.push({ key, at: (isNode(pair.key) && pair.key.range?.[0]) || 0 });
        seen.add(key);
      }
    },
  });
  return found;
}

/** Reads YAML. Throws ToolErrors (plan.syntax) naming every mistake, at most twenty. */
export function readYaml(text: string, file: string): PlanText {
  const lines = new LineCounter();
  const position = (offset: number): Position => {
    const { line, col } = lines.linePos(offset);
    return { line: Math.max(1, line), column: Math.max(1, col) };
  };
  const syntax = ({ at, message, why }: Refusal): ToolError => {
    if (lines.lineStarts.length === 0) for (const m of text.slice(0, at).matchAll(/^/gm)) lines.addNewLine(m.index);
    return new ToolError('plan.syntax', { file, ...position(at), path: '', message, why });
  };
  const refusal = refusalOf(text) ?? tooManyLexemes(text);
  if (refusal) throw new ToolErrors([syntax(refusal)]);

  const document = parseQuickly(text, lines);
  const mistakes: Refusal[] = document.errors.slice(0, bounds.mistakes).map((e) => ({
    at: e.pos[0],
    message: `This is not YAML: ${sentence(e.message)}`,
    why: 'Check indentation, colons, quotes and brackets there.',
  }));
  const root = document.contents;
  if (root && mistakes.length === 0)
    for (const { key, at } of duplicateKeys(root).slice(0, bounds.mistakes))
      mistakes.push({
        at,
        message: `The key "${key}" is written twice in the same place.`,
        why: 'Write every key once.',
      });
  if (root && mistakes.length === 0) mistakes.push(...spelledControls(root).slice(0, bounds.mistakes));
  if (mistakes.length > 0) throw new ToolErrors(mistakes.map(syntax));

  let value: unknown;
  try {
    value = document.toJS({ maxAliasCount: 100 });
  } catch (error) {
    // ReferenceError is how the library says that aliases multiply beyond the bound or name nothing.
    if (!(error instanceof ReferenceError)) throw error;
    throw new ToolErrors([
      syntax({
        at: 0,
        message: 'Its aliases (*name) cannot be followed.',
        why: 'Define an anchor before its aliases, and use few of them.',
      }),
    ]);
  }
  return { value, positionOf: positionFinder(document, text, position) };
}

const sentence = (message: string): string => {
  const first = message.split('\n')[0] ?? '';
  return first.endsWith('.') ? first : `${first}.`;
};

/** Parses with stack traces off: a hostile text makes an error a character, and a trace each would take seconds. */
function parseQuickly(text: string, lineCounter: LineCounter) {
  const limit = Error.stackTraceLimit;
  Error.stackTraceLimit = 0;
  try {
    return parseDocument(text, {
      lineCounter,
      uniqueKeys: false,
      prettyErrors: false,
      stringKeys: true,
      logLevel: 'error',
    });
  } finally {
    Error.stackTraceLimit = limit;
  }
}

/** Finds the positions of paths in one parsed text. */
function positionFinder(document: Document, text: string, position: (offset: number) => Position): PositionOf {
  const follow = (node: unknown): unknown => (isAlias(node) ? node.resolve(document) : node);
  const indentOf = (line: number): number => /^ */.exec(text.split('\n', line)[line - 1] ?? '')?.[0].length ?? 0;

  /** A place inside a text value. In a block (| or >) the text starts on the line after the indicator, indented. */
  const inText = (node: Scalar, within: { line: number; column: number }): Position => {
    const start = position(node.range?.[0] ?? 0);
    if (node.type === 'BLOCK_LITERAL' || node.type === 'BLOCK_FOLDED') {
      return { line: start.line + 1 + within.line, column: 1 + indentOf(start.line + 1) + within.column };
    }
    const quote = node.type === 'PLAIN' ? 0 : 1;
    return within.line === 0 ? { line: start.line, column: start.column + quote + within.column } : start;
  };

  // The deepest part of the path that is there: a missing key is shown at the map that lacks it.
  return (path, onKey = false, within) => {
    let node: unknown = document.contents;
    let offset = isNode(node) ? (node.range?.[0] ?? 0) : 0;
    for (const [depth, step] of path.entries()) {
      const inside = follow(node);
      const pair = isMap(inside) ? inside.items.find((p) => keyOf(p.key) === String(step)) : undefined;
      const next: unknown = pair ? pair.value : isSeq(inside) ? inside.items[Number(step)] : undefined;
      if (pair === undefined && next === undefined) return position(offset);
      const keyAt = isNode(pair?.key) ? pair.key.range?.[0] : undefined;
      const valueAt = isNode(next) ? next.range?.[0] : undefined;
      const wantsKey = onKey && depth === path.length - 1;
      offset = (wantsKey ? keyAt : valueAt) ?? valueAt ?? keyAt ?? offset;
      node = next;
    }
    return within && isScalar(node) ? inText(node, within) : position(offset);
  };
}
