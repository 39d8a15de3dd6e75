// A stuck data line by which the writer asks whether a write cycle is over: blocks here and there are lost, and the chip is not to blame.
import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import { parseWiringFault } from '../../src/chip/wiring-fault.js';
import { openBenchLink } from '../../src/emulator/bench-link.js';
import { newBenchState } from '../../src/emulator/bench-state.js';
import { EmulatedBench } from '../../src/emulator/emulated-bench.js';
import { seededRandom } from '../../src/ground/random.js';
import { imageOfBytes } from '../../src/image/image.js';
import { burn } from '../../src/job/burn.js';
import { planBurn } from '../../src/job/burn-plan.js';
import { explainReadback } from '../../src/suspect/explain-readback.js';
import { chipChoice } from '../../src/writer/chip-choice.js';
import { openWriter } from '../../src/writer/writer.js';

const firmware = readFileSync('firmware/romkiln-writer.hex', 'latin1');

it.each([
  ['AT28C64B', 'D6 stuck 0'],
  ['AT28C64B', 'D6 stuck 1'],
  ['AT28C64B', 'D7 stuck 0'],
  ['AT28C16', 'D7 stuck 0'],
  ['AT28C16', 'D7 stuck 1'],
])(
  'when an %s is burned and read with "%s" then both the burn and the readback point to that line',
  async (name, text) => {
    const part = findPart(name);
    const fault = parseWiringFault(text);
    const state = { ...newBenchState({ part }), faults: [fault] };
    const writer = await openWriter(
      await openBenchLink(new EmulatedBench({ state, firmware }), { baud: 115200, lineMax: 400 }),
    );
    await writer.chip(chipChoice(part));
    const image = imageOfBytes('noise', seededRandom(9).bytes(2048));
    const range = { from: 0, to: image.bytes.length - 1 };
    const outcome = await burn(
      writer,
      part,
      image,
      await planBurn(writer, part, image, { range, keep: true }),
      'discarded',
      {
        range,
      },
    );
    const readback = await writer.read(0, part.cells);
    await writer.close();
    expect(outcome.verified).toBe(false);
    expect(outcome.oneLine).toMatchObject({ line: Number(text[1]), level: Number(text.at(-1)) });
    const { explanations } = explainReadback(image, readback, { part });
    expect(explanations[0]?.faults).toEqual([fault]);
  },
);
