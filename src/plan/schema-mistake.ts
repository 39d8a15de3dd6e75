// What a schema found wrong, said as findings in plain words.
import * as v from 'valibot';
import { nearNames } from '../ground/near-names.js';
import type { Finding, Path } from './table.js';

type Issue = v.BaseIssue<unknown>;

const pathOf = (issue: Issue): Path => (issue.path ?? []).map((item) => item.key as string | number);

/** How a value is called in a sentence; long texts and lists are cut short. */
function sayValue(value: unknown): string {
  if (value === undefined) return 'missing';
  if (value === null) return 'empty';
  if (typeof value === 'string') return `"${value.length > 40 ? `${value.slice(0, 40)}...` : value}"`;
  if (Array.isArray(value)) return 'a list';
  return typeof value === 'object' || typeof value === 'function'
    ? `a${typeof value === 'object' ? ' map' : ' function'}`
    : String(value);
}

/** Valibot's own names for what it expected, in plain words; our own messages pass. */
function sayExpected(issue: Issue): string {
  if (issue.message.startsWith('Invalid ')) {
    const plain: Record<string, string> = {
      Object: 'a map of keys',
      Array: 'a list',
      string: 'a text',
      number: 'a number',
      boolean: 'true or false',
    };
    return (
      plain[issue.expected ?? ''] ?? (issue.expected ?? 'something else').replace(/[()]/g, '').replaceAll(' | ', ' or ')
    );
  }
  return issue.message;
}

/** Of the ways that a value could have been written, the one that its writer meant: the one that fits furthest inside. */
function meantIssues(issue: Issue): readonly Issue[] {
  const inner = (issue as Issue & { issues?: readonly Issue[] }).issues;
  const deeper = issue.type === 'union' ? (inner ?? []).filter((i) => i.path && i.path.length > 0) : [];
  if (deeper.length === 0) return [issue];
  return deeper.map((i) => ({
    ...i,
    path: [...(issue.path ?? []), ...i.path!] as unknown as NonNullable<Issue['path']>,
  }));
}

function findingOf(issue: Issue, knownKeys: (at: Path) => readonly string[]): Finding {
  const path = pathOf(issue);
  const key = String(path.at(-1) ?? '');
  const where = path.length > 0 ? `"${path.join('.')}"` : 'The plan';
  if (issue.expected === 'never' && issue.type === 'strict_object') {
    const known = knownKeys(path.slice(0, -1));
    const near = nearNames(key, known)[0];
    return {
      severity: 'error',
      code: 'shape.unknown-key',
      message: `The key "${key}" is not known here.`,
      why: near ? `Did you mean "${near}"?` : `Known are: ${known.join(', ')}.`,
      path,
      onKey: true,
    };
  }
  if (issue.received === 'undefined' && issue.type === 'strict_object') {
    return {
      severity: 'error',
      code: 'shape.missing',
      message: `The key "${key}" is missing.`,
      why: `It belongs into ${path.length > 1 ? `"${path.slice(0, -1).join('.')}"` : 'the plan'}.`,
      path,
    };
  }
  const onKey = issue.path?.at(-1)?.origin === 'key';
  return {
    severity: 'error',
    code: 'shape.value',
    message: onKey ? `The name "${key}" cannot be used.` : `${where} is ${sayValue(issue.input)}.`,
    why: `It should be ${sayExpected(issue)}.`,
    path,
    onKey,
  };
}

/** Keys that an object schema knows at a path; steps through records, arrays, unions and pipes. */
function keysAt(schema: unknown, path: Path): readonly string[] {
  const s = schema as {
    entries?: Record<string, unknown>;
    options?: readonly unknown[];
    wrapped?: unknown;
    item?: unknown;
    value?: unknown;
  };
  if (s.options) return s.options.flatMap((o) => keysAt(o, path));
  if (s.wrapped) return keysAt(s.wrapped, path);
  const [step, ...rest] = path;
  if (step === undefined) return Object.keys(s.entries ?? {});
  const next = s.entries ? s.entries[step] : typeof step === 'number' ? s.item : s.value;
  return next ? keysAt(next, rest) : [];
}

/** Checks a value against a schema: the value as the schema gives it, or null and everything that is wrong. */
export function checkShape<Output>(
  schema: v.GenericSchema<unknown, Output>,
  value: unknown,
): { readonly output: Output | null; readonly findings: readonly Finding[] } {
  const result = v.safeParse(schema, value);
  if (result.success) return { output: result.output, findings: [] };
  const issues = result.issues.flatMap(meantIssues);
  return { output: null, findings: issues.slice(0, 100).map((i) => findingOf(i, (at) => keysAt(schema, at))) };
}

/** The same findings, seen from further outside. */
export const under = (prefix: Path, findings: readonly Finding[]): readonly Finding[] =>
  findings.map((f) => ({ ...f, path: [...prefix, ...f.path] }));
