// The shape of a conformance rule, and what it may use.
import type { Part } from '../chip/part.js';
import { base64OfBytes, hex } from '../ground/byte-text.js';
import { crc32IsoHdlc } from '../ground/check-sums.js';
import { encodeRequest, okFields } from '../protocol/codec.js';
import { fieldOfNumber } from '../protocol/field-kind.js';
import { protocolCounts } from '../protocol/limits.js';
import type { Answer, ChipChoice, WriterLine } from '../protocol/message.js';
import type { Conversation, Exchange } from './conversation.js';
import { broken, spoken, want, wantOk } from './expectation.js';

/** What must be given before a rule can be tried. */
export type Needs =
  /** The writer restarted when the port was opened, and no chip was chosen since. */
  | 'fresh start'
  /** A part is named and seated. */
  | 'chip'
  /** Its cells may be written; they are put back. */
  | 'scratch'
  /** A scratch chip without page mode, one with protection codes, one with a toggle bit. */
  | 'cell by cell'
  | 'protection'
  | 'toggle bit';

export interface ConformanceRule {
  /** One sentence: what is demanded. */
  readonly name: string;
  /** Section of firmware-protocol.md. */
  readonly section: '1' | '2' | '3' | '4' | '5';
  readonly needs: Needs | null;
  /** Throws conform.broken where the writer does something else. */
  run(context: RuleContext): Promise<void>;
}

export const rule = (
  section: ConformanceRule['section'],
  name: string,
  run: ConformanceRule['run'],
  needs: Needs | null = null,
): ConformanceRule => ({ name, section, needs, run });

/** A write cycle so long that every writer is busy with it while lines come in: waited out by limit, whatever the chip does. */
export const slowCycleUs = 50_000;

export class RuleContext {
  /** The choice that was sent last. */
  choice: ChipChoice;

  constructor(
    readonly talk: Conversation,
    readonly writer: WriterLine,
    readonly greeting: Answer | null,
    readonly part: Part | null,
    readonly scratch: boolean,
  ) {
    this.choice = choiceOfPart(part);
  }

  /** Cells from 0 that rules with a scratch chip may write. */
  get areaCells(): number {
    return Math.min(this.choice.cells, Math.max(0x100, 2 * this.choice.page));
  }

  /** The fields of `chip` for the part (or for a chip of common size), with some changed. */
  chipFields(changes: Partial<ChipChoice> = {}): string[] {
    const choice = { ...choiceOfPart(this.part), ...changes };
    return encodeRequest(1, { word: 'chip', ...choice })
      .split(' ')
      .slice(2, -1);
  }

  /** Chooses the chip; must be accepted. */
  async choose(changes: Partial<ChipChoice> = {}): Promise<void> {
    this.choice = { ...choiceOfPart(this.part), ...changes };
    wantOk((await this.talk.ask('chip', this.chipFields(changes))).answer);
  }

  /** Chooses the chip with cycles so slow that blocks pile up. */
  chooseSlow(): Promise<void> {
    return this.choose({ cycleUs: slowCycleUs, poll: 'limit' });
  }

  /** Reads cells and holds the stream to the page: lines, addresses, sum. */
  async read(address: number, count: number): Promise<Uint8Array> {
    const exchange = await this.talk.ask('read', [address, count].map(fieldOfNumber));
    return bytesOfRead(exchange, address, count);
  }

  /** Writes one block that must succeed. */
  async write(address: number, bytes: Uint8Array): Promise<void> {
    const { answer } = await this.talk.ask('write', blockFields(address, bytes), this.workMs(bytes.length));
    wantOk(answer);
  }

  /** The longest time that the chip's own cycles may take for a block. */
  workMs(bytes: number): number {
    const cycles = this.choice.page === 1 ? bytes : 1;
    return (cycles * (this.choice.cycleUs + this.choice.windowUs)) / 1000;
  }

  /** These cells must hold these bytes. */
  async wantCells(address: number, wanted: Uint8Array, when: string): Promise<void> {
    const actual = await this.read(address, wanted.length);
    const place = wanted.findIndex((byte, i) => byte !== actual[i]);
    const cell = (bytes: Uint8Array): string =>
      `cell ${fieldOfNumber(address + place)} holding ${hexByte(bytes[place]!)}`;
    if (place >= 0) broken(`${cell(wanted)} ${when}`, cell(actual));
  }
}

const hexByte = (byte: number): string => hex(byte, 2);

/** The fields of `write`. */
export const blockFields = (address: number, bytes: Uint8Array): string[] => [
  fieldOfNumber(address),
  base64OfBytes(bytes),
];

/** The bytes of a `read`, whose lines must follow each other and end with the right sum. */
export function bytesOfRead(exchange: Exchange, address: number, count: number): Uint8Array {
  const { lines, answer } = exchange;
  const bytes = new Uint8Array(count);
  let place = 0;
  for (const line of lines.slice(0, -1)) {
    if (line.word !== 'data') broken('a `data` line', spoken(line));
    else {
      const next = fieldOfNumber(address + place);
      want(line.address === address + place, `a \`data\` line for address ${next}`, spoken(line));
      want(line.bytes.length <= protocolCounts.dataBytes, 'at most C0 bytes in a line', `${line.bytes.length} bytes`);
      want(place + line.bytes.length <= count, `${count} bytes in all`, 'more');
      bytes.set(line.bytes, place);
      place += line.bytes.length;
    }
  }
  wantOk(answer, place === count ? sumFields(bytes) : undefined);
  want(place === count, `${count} bytes in all`, `${place}`);
  return bytes;
}

const sumFields = (bytes: Uint8Array): string[] => okFields('read', { sum: crc32IsoHdlc(bytes) });

/** The fields of `chip` by the part's row; without a part those of a common one, which is then only read. */
function choiceOfPart(part: Part | null): ChipChoice {
  if (!part) {
    return { cells: 0x8000, page: 0x40, cycleUs: 10_000, windowUs: 150, poll: 'limit', protection: 'none' };
  }
  return {
    cells: part.cells,
    page: part.pageBytes.value,
    cycleUs: part.cycleMaxUs.value,
    windowUs: part.loadWindowMaxUs?.value ?? 0,
    poll: part.polling.value,
    protection: part.protection.value ? 'codes' : 'none',
  };
}
