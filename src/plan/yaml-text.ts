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
import { ToolError, ToolErrors } from '../ground/errors.js';
import { controlRefusal, type Refusal, refusalOf } from './hostile-text.js';
import { wrongIndentation } from './indentation.js';
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

/** A screenful; the rest are mostly echoes of the first. */
const mostMistakes = 20;

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

/**
 * The first mistake of a text that is no YAML. What the library finds behind it mostly follows from it, and is not said.
 * Where a line is indented wrongly, that is the cause, wherever the library noticed.
 */
function brokenAt({ errors }: Document.Parsed, text: string): Refusal | null {
  const [first] = [...errors].sort((a, b) => a.pos[0] - b.pos[0]);
  if (!first) return null;
  const at = first.pos[0];
  const endOfNextLine = text.indexOf('\n', text.indexOf('\n', at) + 1);
  const wrong = wrongIndentation(text);
  if (wrong && (endOfNextLine < 0 || wrong.at <= endOfNextLine)) return wrong;
  const mark = openMark(text, at, first.message);
  if (mark !== null) {
    const [open, close] = [text[mark]!, closing[text[mark]!]!];
    return {
      at: mark,
      message: `A ${open} is opened and not closed.`,
      why: `Put ${close} where its text or list ends.`,
    };
  }
  if (first.code === 'MULTILINE_IMPLICIT_KEY') {
    return {
      at,
      message: 'A key is not followed by a colon.',
      why: 'Write "key: value" in one line, with a space behind the colon.',
    };
  }
  if (/block sequence may not/.test(first.message)) {
    const why = 'Items of one list begin in the same column: check how far this one is indented.';
    return { at, message: 'An item of a list stands among the keys of a map.', why };
  }
  const message = `This is not YAML: ${sentence(first.message)}`;
  return { at, message, why: 'Check indentation, colons, quotes and brackets there.' };
}

const closing: Readonly<Record<string, string>> = { '[': ']', '{': '}', "'": "'", '"': '"' };

/** The bracket or quote that is open where the library misses its end; null where it misses something else. */
function openMark(text: string, until: number, missed: string): number | null {
  if (!/closing ["']quote|end with a [\]}]/.test(missed)) return null;
  const brackets: number[] = [];
  let quote: number | null = null;
  let at = 0;
  for (const lexeme of new Lexer().lex(text)) {
    if (at >= until) break;
    if (lexeme === '[' || lexeme === '{') brackets.push(at);
    else if (lexeme === ']' || lexeme === '}') brackets.pop();
    else if (lexeme.startsWith("'") || lexeme.startsWith('"')) quote = at;
    // The lexer's own marks are no part of the text.
    if (!/^[\u0002\u0018\u001f]$/.test(lexeme)) at += lexeme.length;
  }
  return missed.includes('quote') ? quote : (brackets.at(-1) ?? null);
}

/** Reads YAML. Throws ToolErrors (plan.syntax): the first mistake of what is no YAML, else every other, at most twenty. */
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
  const refusal = refusalOf(text);
  if (refusal) throw new ToolErrors([syntax(refusal)]);

  const document = parseQuickly(text, lines);
  const broken = brokenAt(document, text);
  const mistakes: Refusal[] = broken ? [broken] : [];
  const root = document.contents;
  if (root && mistakes.length === 0)
    for (const { key, at } of duplicateKeys(root).slice(0, mostMistakes))
      mistakes.push({
        at,
        message: `The key "${key}" is written twice in the same place.`,
        why: 'Write every key once.',
      });
  if (root && mistakes.length === 0) mistakes.push(...spelledControls(root).slice(0, mostMistakes));
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
      // A hexadecimal number stays a text, as a binary one is to YAML: so it is said as it is written.
      customTags: (tags) => tags.filter((tag) => typeof tag === 'string' || tag.format !== 'HEX'),
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
