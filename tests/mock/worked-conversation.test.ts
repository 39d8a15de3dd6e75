// The mock writer, held to the whole worked conversation of firmware-protocol.md section 6, line for line.
import { expect, test } from 'vitest';
import { bytesOfText } from '../../src/ground/byte-text.js';
import { badLines, workedLines } from '../protocol/protocol-page.js';
import { chip28c256, converse } from './conversation.js';

test('when the host says its worked lines then the writer answers with its own, line for line', async () => {
  const contents = new Uint8Array(0x8000).fill(0xff);
  contents.set(bytesOfText('foobar'), 0x10);
  // Two pages with the sum that the page shows: CRC-32 of 64 equal bytes.
  contents.fill(0xff, 0x7f80);
  const { mock, say, wait, link } = await converse({
    chip: { ...chip28c256, contents, faults: [{ kind: 'weak-cell', address: 0x81, bit: 6, level: 0 }] },
    limits: { build: 'firmware-2.0.0' },
    firstNonce: 0x5e21,
  });
  const lines = workedLines();
  let place = 0;
  const next = (from: 'host' | 'writer'): string[] => {
    const start = place;
    while (lines[place]?.from === from) place++;
    return lines.slice(start, place).map(({ line }) => line);
  };
  expect(await wait(100)).toEqual(next('writer'));
  while (place < lines.length) {
    let spoken = next('host');
    // In the worked window the second of three lines is damaged on its way.
    const window = spoken.length === 3;
    if (window) spoken = spoken.map((line, i) => (i === 1 ? line.replace('Zm9v', 'Zm9w') : line));
    if (spoken.some((line) => line.startsWith('0D presence'))) mock.chip.faults = [{ kind: 'absent' }];
    if (spoken.some((line) => line.startsWith('11 protect'))) mock.chip.faults = [];
    const answers = await say(spoken);
    // Answers to blocks may overtake each other's refusals; each exchange keeps its own order.
    expect(window ? answers.sort() : answers).toEqual(window ? next('writer').sort() : next('writer'));
    if (spoken[0]?.startsWith('03 rate')) await link.setRate(500000);
  }
});

test('when a bad line of the page comes then its one refusal comes, and the next line is understood', async () => {
  const { say, wait } = await converse();
  await wait(100);
  for (const { line, refusal, why } of badLines()) {
    const answers = await say([line, '01 who F23F']);
    expect(answers, why).toHaveLength(2);
    expect(answers[0], why).toMatch(refusal === 1 ? /^00 no 1 / : /^01 no 4 \d /);
    expect(answers[1], why).toMatch(/^01 writer /);
  }
});
