// The words for a conformance run: a line a rule, and what was not tried by its reason.
import { expect, it } from 'vitest';
import type { ConformanceReport, ConformanceResult } from '../../src/conform/conformance.js';
import { conformanceText, ruleText } from '../../src/report/conformance-text.js';

const result = (facts: Partial<ConformanceResult>): ConformanceResult => ({
  rule: 'a bad line is not acted on',
  section: '3',
  outcome: 'kept',
  wanted: null,
  seen: null,
  reason: null,
  ...facts,
});

it('when a rule is kept then it is one line', () => {
  expect(ruleText(result({}))).toBe('kept   3  a bad line is not acted on\n');
});

it('when a rule is broken then wanted and seen stand below it', () => {
  expect(ruleText(result({ outcome: 'broken', wanted: 'no answer', seen: 'ok 5' }))).toBe(
    'broken 3  a bad line is not acted on\n          wanted: no answer\n          seen:   ok 5\n',
  );
});

it('when rules are not tried then each reason stands once with its count', () => {
  const scratch = result({ outcome: 'untried', reason: 'they need a chip that may be overwritten (--scratch)' });
  const part = result({ outcome: 'untried', reason: 'they need a part that is named (--chip)' });
  const results = [result({}), scratch, part, scratch];
  expect(results.map(ruleText).join('')).toBe('kept   3  a bad line is not acted on\n');
  const report = {
    results,
    writer: { build: 'build-1' },
    conforms: true,
    cellsPutBack: null,
  } as unknown as ConformanceReport;
  expect(conformanceText(report)).toBe(
    [
      '2 rules not tried: they need a chip that may be overwritten (--scratch).',
      '1 rule not tried: they need a part that is named (--chip).',
      'build-1: 1 of 4 rules kept, 0 broken, 3 not tried (firmware-protocol.md).',
      'The writer keeps every rule that was tried.\n',
    ].join('\n'),
  );
  expect(conformanceText({ ...report, conforms: false, cellsPutBack: false })).toMatch(
    /\(firmware-protocol\.md\)\.\nSome test cells could not be put back\.\n$/,
  );
});
