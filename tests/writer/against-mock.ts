// A writer opened on the mock, for tests that go through the whole room.

import { pause } from '../../src/ground/clock.js';
import type { ChipChoice } from '../../src/protocol/message.js';
import { openWriter, type Writer, type WriterEvent } from '../../src/writer/writer.js';
import type { MockChipOptions } from '../mock/mock-chip.js';
import { type MockWriter, type MockWriterOptions, mockWriter } from '../mock/mock-writer.js';

/** A page-mode chip of 4 KiB with a cycle of 3 ms. */
export const pageChip: MockChipOptions = { cells: 4096, page: 64, cycleUs: 3000, codes: true };
export const pageChoice: ChipChoice = {
  cells: 4096,
  page: 64,
  cycleUs: 5000,
  windowUs: 150,
  poll: 'toggle',
  protection: 'codes',
};
export const cellChip: MockChipOptions = { cells: 2048, page: 1, cycleUs: 200 };
export const cellChoice: ChipChoice = {
  cells: 2048,
  page: 1,
  cycleUs: 1000,
  windowUs: 0,
  poll: 'data',
  protection: 'none',
};

export interface OnMock {
  readonly mock: MockWriter;
  readonly writer: Writer;
  readonly events: WriterEvent[];
}

/** Opens a writer on a mock; mishaps that are handed in strike from the first byte on. */
export async function onMock(
  options: Partial<MockWriterOptions> = {},
  choice: ChipChoice | null = pageChoice,
): Promise<OnMock> {
  const mock = mockWriter({ chip: pageChip, ...options });
  // A board that does not restart at opening was switched on before.
  if (options.resetsOnOpen === false) await pause(mock.clock, 100);
  const events: WriterEvent[] = [];
  const link = await mock.open('mock', { baud: 115200, lineMax: 4096 });
  const writer = await openWriter(link, { onEvent: (event) => events.push(event) });
  if (choice) await writer.chip(choice);
  return { mock, writer, events };
}
