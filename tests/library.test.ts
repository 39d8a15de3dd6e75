// The library as a program of its own would use it: the example of the README, word for word in spirit.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import {
  buildPlan,
  burn,
  chipChoice,
  EmulatedBench,
  findPart,
  newBenchState,
  openBenchLink,
  openWriter,
  planBurn,
  readPlan,
  wholeRange,
} from '../src/index.js';

describe('the library', () => {
  it('when a plan is burned through its names then it is verified', async () => {
    const plan = readPlan(readFileSync('images/skerry-display.yaml', 'utf8'), 'skerry-display.yaml');
    const [rom] = buildPlan(plan);
    const part = findPart('AT28C16E');
    const bench = new EmulatedBench({
      state: newBenchState({ part }),
      firmware: readFileSync('firmware/romkiln-writer.hex', 'latin1'),
    });
    const writer = await openWriter(await openBenchLink(bench, { baud: 115200, lineMax: 400 }));
    await writer.chip(chipChoice(part));
    const range = wholeRange(part.cells);
    const work = await planBurn(writer, part, rom!.image, { range, keep: true });
    const outcome = await burn(writer, part, rom!.image, work, { range });
    await writer.close();
    expect(outcome.verified).toBe(true);
    expect(bench.truth).toEqual(rom!.image.bytes);
    expect(bench.violations).toEqual([]);
  });
});
