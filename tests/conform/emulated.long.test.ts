// The conformance suite on the project's real firmware, running on the emulated bench.
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import { runConformance } from '../../src/conform/conformance.js';
import { openBenchLink } from '../../src/emulator/bench-link.js';
import { newBenchState } from '../../src/emulator/bench-state.js';
import { EmulatedBench } from '../../src/emulator/emulated-bench.js';
import { seededRandom } from '../../src/ground/random.js';

const firmware = readFileSync(fileURLToPath(new URL('../../firmware/romkiln-writer.hex', import.meta.url)), 'utf8');

/** A page part with protection, a part written cell by cell, and one that needs three address registers. */
for (const name of ['AT28C256', 'AT28C16', 'AT28C010']) {
  test(`when the firmware drives a scratch ${name} then it keeps every rule, and no rule of the chip is broken`, async () => {
    const part = findPart(name);
    const contents = seededRandom(16).bytes(part.cells);
    const bench = new EmulatedBench({ state: newBenchState({ part, contents, cycleUs: 1000 }), firmware });
    const link = await openBenchLink(bench, { baud: 115200, lineMax: 1000 });
    const report = await runConformance(link, { chip: part, scratch: contents });
    expect(report.results.filter((result) => result.outcome === 'broken')).toEqual([]);
    const untried = report.results.filter((result) => result.outcome === 'untried');
    expect(untried.filter((result) => result.reason !== `they need another kind of part than ${name}`)).toEqual([]);
    expect(report.cellsPutBack).toBe(true);
    expect(bench.violations).toEqual([]);
    bench.rest();
    expect(Buffer.from(bench.truth).equals(Buffer.from(contents))).toBe(true);
    await link.close();
  });
}
