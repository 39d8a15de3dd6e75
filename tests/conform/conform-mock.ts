// Runs the conformance suite against a mock writer with one part in its socket.
import { findPart } from '../../src/chip/chip-table.js';
import { runConformance } from '../../src/conform/conformance.js';
import { seededRandom } from '../../src/ground/random.js';
import { type MockWriterOptions, mockWriter } from '../mock/mock-writer.js';

const contents = seededRandom(28).bytes(0x20000);

/** A chip as the part's row says, with random bytes in it and cycles of half the longest. */
export const chipOf = (name: string) => {
  const part = findPart(name);
  return {
    cells: part.cells,
    page: part.pageBytes.value,
    cycleUs: part.cycleMaxUs.value / 2,
    codes: part.protection.value,
    contents: contents.slice(0, part.cells),
  };
};

/** `partName` null: an empty socket, no part named. */
export async function conform(partName: string | null, options: Partial<MockWriterOptions> = {}, scratch = true) {
  const chip = partName === null ? { ...chipOf('AT28C256'), faults: [{ kind: 'absent' as const }] } : chipOf(partName);
  const mock = mockWriter({ chip, ...options });
  const link = await mock.open('mock', { baud: 115200, lineMax: 1000 });
  const cells = scratch ? mock.chip.cells.slice() : null;
  const report = await runConformance(
    link,
    partName === null ? { scratch: cells } : { chip: findPart(partName), scratch: cells },
  );
  const of = (outcome: string) => report.results.filter((result) => result.outcome === outcome);
  return { mock, report, broken: of('broken'), untried: of('untried') };
}
