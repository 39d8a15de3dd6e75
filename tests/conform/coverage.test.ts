// What the suite reaches: every request word is asked, and every refusal of the page is earned.
import { expect, test } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import { runConformance } from '../../src/conform/conformance.js';
import type { Link } from '../../src/link/link.js';
import { decodeAnswer } from '../../src/protocol/codec.js';
import { partsOfLine } from '../../src/protocol/line.js';
import { refusals } from '../../src/protocol/refusals.js';
import { requestWords } from '../../src/protocol/request-words.js';
import { mockWriter } from '../mock/mock-writer.js';
import { chipOf } from './conform-mock.js';

/** Runs the suite and notes the words that were asked with a good line, and the refusals that came. */
async function reached(partName: string | null) {
  const words = new Set<string>();
  const refused = new Set<number>();
  const chip = partName ? chipOf(partName) : { ...chipOf('AT28C16'), faults: [{ kind: 'absent' as const }] };
  const mock = mockWriter({ chip });
  const link = await mock.open('mock', { baud: 115200, lineMax: 1000 });
  const tapped: Link = {
    path: link.path,
    clock: link.clock,
    setRate: (baud) => link.setRate(baud),
    close: () => link.close(),
    send: (text) => {
      for (const line of text.split('\n')) words.add(partsOfLine(line)?.word ?? '');
      return link.send(text);
    },
    listen: (listener) =>
      link.listen({
        ...listener,
        line: (text) => {
          const decoded = decodeAnswer(text);
          if (decoded.good && decoded.message.word === 'no') refused.add(decoded.message.refusal);
          listener.line(text);
        },
      }),
  };
  await runConformance(tapped, partName ? { chip: findPart(partName), scratch: mock.chip.cells.slice() } : {});
  return { words, refused };
}

test('when the suite has run on a seated part and on an empty socket then every word was asked and every refusal earned', async () => {
  const seated = await reached('AT28C256');
  const empty = await reached(null);
  expect(Object.keys(requestWords).filter((word) => !seated.words.has(word))).toEqual([]);
  const earned = new Set([...seated.refused, ...empty.refused]);
  expect(refusals.filter((row) => !earned.has(row.number)).map((row) => row.name)).toEqual([]);
});
