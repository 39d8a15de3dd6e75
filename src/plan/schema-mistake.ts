// What a schema found wrong, said as findings in plain words.
import * as v from 'valibot';
import { meantOrKnown } from './complaints.js';
import { meantKeys } from './meant-keys.js';
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

/** Valibot's own names for what it expected, in plain words. */
const plainWords: Readonly<Record<string, string>> = {
  Object: 'a map of keys',
  Array: 'a list',
  string: 'a text',
  number: 'a number',
  boolean: 'true or false',
};

/** Our own messages pass. */
function sayExpected({ message, expected }: Issue): string {
  if (!message.startsWith('Invalid ')) return message;
  const alternatives = (expected ?? 'something else').replace(/[()]/g, '').split(' | ');
  return alternatives.map((one) => plainWords[one] ?? one).join(' or ');
}

/** Of the ways that a value could have been written, the one that its writer meant: the one that fits furthest inside. */
function meantIssues(issue: Issue): readonly Issue[] {
  const inner = (issue as Issue & { issues?: readonly Issue[] }).issues;
  const isList = Array.isArray(issue.input);
  // To the library a list is a map too, whose keys are numbers; nobody who writes a list means that.
  const deeper =
    issue.type === 'union' ? (inner ?? []).filter((i) => i.path?.[0] && (i.path[0].type === 'array') === isList) : [];
  if (deeper.length === 0) return [issue];
  return deeper.map((i) => ({
    ...i,
    path: [...(issue.path ?? []), ...i.path!] as unknown as NonNullable<Issue['path']>,
  }));
}

function findingOf(issue: Issue, called: string): Finding {
  const path = pathOf(issue);
  const key = String(path.at(-1) ?? '');
  const where = path.length > 0 ? `"${path.join('.')}"` : called;
  if (issue.received === 'undefined' && issue.type === 'strict_object') {
    return {
      severity: 'error',
      code: 'shape.missing',
      message: `The key "${key}" is missing.`,
      why: `It belongs to ${path.length > 1 ? `"${path.slice(0, -1).join('.')}"` : called.charAt(0).toLowerCase() + called.slice(1)}.`,
      path,
    };
  }
  const last = issue.path?.at(-1);
  const inList = Array.isArray(last?.input);
  const onKey = last?.origin === 'key' && !inList;
  return {
    severity: 'error',
    code: 'shape.value',
    message: onKey
      ? `The name "${key}" cannot be used.`
      : `${where} is ${sayValue(inList ? last!.value : issue.input)}.`,
    why: `It should be ${sayExpected(issue)}.`,
    path,
    onKey,
  };
}

/** A map of keys, as YAML and modules write it. */
export const isMap = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** What the library's schemas are made of, as far as keys are concerned. */
interface SchemaParts {
  readonly type?: string;
  readonly entries?: Readonly<Record<string, unknown>>;
  readonly options?: readonly SchemaParts[];
  readonly wrapped?: unknown;
  readonly item?: unknown;
  readonly value?: unknown;
}

/** All keys of a value that its schema does not know: the library itself names only the first of each map. */
function* unknownKeys(schema: unknown, value: unknown, path: Path): Generator<Finding> {
  const parts = schema as SchemaParts;
  if (parts.wrapped) yield* unknownKeys(parts.wrapped, value, path);
  else if (parts.options) {
    // Of several forms, the one that the value looks like; forms without keys of their own say nothing here.
    const forms = parts.options.filter((o) =>
      isMap(value) ? o?.entries || o?.type === 'record' : Array.isArray(value) && o?.item,
    );
    const known = ({ entries }: SchemaParts): number =>
      Object.keys(value as object).filter((key) => entries && Object.hasOwn(entries, key)).length;
    const [form] = [...forms].sort((a, b) => known(b) - known(a));
    if (form) yield* unknownKeys(form, value, path);
  } else if (Array.isArray(value) && parts.item) {
    for (const [i, inner] of value.entries()) yield* unknownKeys(parts.item, inner, [...path, i]);
  } else if (isMap(value) && parts.entries) {
    for (const [key, inner] of Object.entries(value)) {
      if (Object.hasOwn(parts.entries, key)) yield* unknownKeys(parts.entries[key], inner, [...path, key]);
      else yield unknownKey(key, Object.keys(parts.entries), path);
    }
  } else if (isMap(value) && parts.type === 'record') {
    for (const [key, inner] of Object.entries(value)) yield* unknownKeys(parts.value, inner, [...path, key]);
  }
}

function unknownKey(key: string, known: readonly string[], path: Path): Finding {
  return {
    severity: 'error',
    code: 'shape.unknown-key',
    message: `The key "${key.slice(0, 64)}" is not known here.`,
    why: meantOrKnown(key, known),
    path: [...path, key],
    onKey: true,
  };
}

/** Whether an unknown key of this value stands where a missing one should, and is nearest to it. */
function isMisspellingOf(unknown: Path, missing: Path, value: unknown): boolean {
  const around = missing.slice(0, -1);
  if (unknown.length !== missing.length || around.some((step, i) => unknown[i] !== step)) return false;
  const map = around.reduce<unknown>((inner, step) => (inner as Record<string, unknown>)[step], value);
  return meantKeys(map as Record<string, unknown>, [String(missing.at(-1))]).has(String(unknown.at(-1)));
}

/** As many as a person would go through at once. */
const mostMistakes = 100;

/**
 * Checks a value against a schema: the value as the schema gives it, or null and everything that is wrong. `called` is how
 * a sentence names the value, e.g. `The field "place"`.
 */
export function checkShape<Output>(
  schema: v.GenericSchema<unknown, Output>,
  value: unknown,
  called: string,
): { readonly output: Output | null; readonly findings: readonly Finding[] } {
  const result = v.safeParse(schema, value);
  const unknown: Finding[] = [];
  for (const finding of unknownKeys(schema, value, [])) if (unknown.push(finding) >= mostMistakes) break;
  if (result.success && unknown.length === 0) return { output: result.output, findings: [] };
  const issues = (result.issues ?? []).flatMap(meantIssues).filter((i) => i.expected !== 'never');
  // A key that is missing because it is misspelt was said.
  const isMisspelt = ({ code, path }: Finding): boolean =>
    code === 'shape.missing' && unknown.some((u) => isMisspellingOf(u.path, path, value));
  const said = issues.slice(0, mostMistakes).map((i) => findingOf(i, called));
  const findings = [...unknown, ...said.filter((f) => !isMisspelt(f))];
  return { output: null, findings };
}
