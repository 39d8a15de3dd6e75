// The page that describes the format: its example is a plan, and it names every key that the schemas know.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { planJsonSchema } from '../../src/plan/json-schema.js';
import { checkPlan, readPlan } from '../../src/plan/plan.js';
import { fontNames } from '../../src/plan/segment-font.js';

const page = readFileSync('images/README.md', 'utf8');

/** Keys of every object in a JSON Schema. */
function keysIn(schema: unknown, found = new Set<string>()): Set<string> {
  if (typeof schema !== 'object' || schema === null) return found;
  const { properties } = schema as { properties?: Record<string, unknown> };
  for (const key of Object.keys(properties ?? {})) found.add(key);
  for (const inner of Object.values(schema)) keysIn(inner, found);
  return found;
}

describe('the page about the format', () => {
  it('when its example is read then it is a plan without findings', () => {
    const example = /```yaml\n([\s\S]*?)```/.exec(page)?.[1] ?? '';
    expect(checkPlan(readPlan(example, 'README.md'))).toEqual([]);
  });

  it('when the schemas know a key, a kind or a font then the page names it', () => {
    const kinds = (
      planJsonSchema() as { $defs: { contents: { oneOf: { properties: { kind: { const: string } } }[] } } }
    ).$defs.contents.oneOf;
    const words = [...keysIn(planJsonSchema()), ...kinds.map((k) => k.properties.kind.const), ...fontNames, 'function'];
    expect(words.length).toBeGreaterThan(40);
    expect(words.filter((w) => !new RegExp(`\\b${w}\\b`).test(page))).toEqual([]);
  });
});
