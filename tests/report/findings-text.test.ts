import { expect, it } from 'vitest';
import type { LocatedFinding } from '../../src/plan/plan.js';
import { findingsText } from '../../src/report/findings-text.js';

const finding = (more: Partial<LocatedFinding>): LocatedFinding => ({
  severity: 'error',
  code: 'pin.twice',
  message: 'A3 carries two fields.',
  why: 'One pin carries one.',
  path: [],
  file: 'p.yaml',
  line: 7,
  column: 12,
  where: 'roms.a',
  ...more,
});

it('when nothing was found then that is said', () => {
  expect(findingsText('p.yaml', [])).toBe('p.yaml: nothing wrong, nothing doubtful.\n');
});

it('when a finding has a place then line and column stand before it, its reason and code behind it', () => {
  expect(findingsText('p.yaml', [finding({})])).toBe(
    'p.yaml:7:12: error: A3 carries two fields.\n  One pin carries one.  [pin.twice]\np.yaml: 1 error, 0 warnings.\n',
  );
});

it('when a plan is a module then the path inside it stands in for line and column', () => {
  const nowhere = { file: 'p.mjs', line: null, column: null };
  const text = findingsText('p.mjs', [finding(nowhere), finding({ ...nowhere, severity: 'warning', where: '' })]);
  expect(text).toContain('p.mjs, at roms.a: error: ');
  expect(text).toContain('p.mjs: warning: ');
  expect(text).toMatch(/\np\.mjs: 1 error, 1 warning\.\n$/);
});

it('when a file name has control characters then they are not shown as they are', () => {
  const name = 'odd\x1b[2J.yaml';
  expect(findingsText(name, [finding({ file: name })])).not.toContain('\x1b');
  expect(findingsText(name, [])).not.toContain('\x1b');
});
