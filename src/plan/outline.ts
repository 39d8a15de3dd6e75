// A table of which nothing is known but its inputs and outputs: with a mistake in the contents, the pins can still be checked.
import type { Table } from './table.js';

export const outlineOf = ({
  inputs,
  outputs,
  activeLow = new Set(),
  neverTogether,
}: Pick<Table, 'inputs' | 'outputs'> & Partial<Pick<Table, 'activeLow' | 'neverTogether'>>): Table => ({
  inputs,
  outputs,
  activeLow,
  ...(neverTogether && { neverTogether }),
  outline: true,
  at: () => [...outputs].map(() => undefined),
  explain: () => '',
  findings: () => [],
  list: () => [],
});
