// The conformance suite on the mock writer: a lawful one passes, and of every way to be wrong the suite says which rule it breaks.
import { describe, expect, test } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import { runConformance } from '../../src/conform/conformance.js';
import { seededRandom } from '../../src/ground/random.js';
import type { MockWriterOptions } from '../../src/mock/mock-writer.js';
import { mockWriter } from '../../src/mock/mock-writer.js';

const contents = seededRandom(28).bytes(0x8000);

const chipOf = (name: string) => {
  const part = findPart(name);
  return {
    cells: part.cells,
    page: part.pageBytes.value,
    cycleUs: part.cycleMaxUs.value / 2,
    codes: part.protection.value,
    contents: contents.slice(0, part.cells),
  };
};

async function conform(partName: string | null, options: Partial<MockWriterOptions> = {}, scratch = true) {
  const mock = mockWriter({ chip: chipOf(partName ?? 'AT28C256'), ...options });
  const link = await mock.open('mock', { baud: 115200, lineMax: 1000 });
  const report = await runConformance(link, partName ? { chip: findPart(partName), scratch } : { scratch });
  const broken = report.results.filter((result) => result.outcome === 'broken');
  return { mock, report, broken, untried: report.results.filter((result) => result.outcome === 'untried') };
}

describe('a lawful writer', () => {
  for (const part of ['AT28C256', 'AT28C16', 'AT28C64B', 'CAT28C64B']) {
    test(`when it drives a ${part} for scratch then it keeps every rule and the cells are put back`, async () => {
      const { report, broken, mock } = await conform(part);
      expect(broken).toEqual([]);
      expect(report.conforms).toBe(true);
      expect(report.cellsPutBack).toBe(true);
      expect(mock.chip.cells).toEqual(chipOf(part).contents);
    });
  }
});
