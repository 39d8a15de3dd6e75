// Every refusal of a writer: its number, its name, what it means and what the host does (firmware-protocol.md section 5).

export interface RefusalRow {
  readonly number: number;
  readonly name: string;
  /** Names of the fields behind the number. */
  readonly fields: readonly string[];
  readonly meaning: string;
  readonly host: string;
}

const refusal = (
  number: number,
  name: string,
  fields: readonly string[],
  meaning: string,
  host: string,
): RefusalRow => ({
  number,
  name,
  fields,
  meaning,
  host,
});

const giveUp = 'a fault of the host: gives up';

export const refusals = [
  refusal(
    0x1,
    'bad-line',
    [],
    'the check sequence does not fit, or the line has no valid form',
    'sends again what is not answered',
  ),
  refusal(
    0x2,
    'too-long',
    [],
    'the line was longer than the announced limit',
    'sends again what is not answered; a second time is a fault of the host',
  ),
  refusal(0x3, 'unknown-word', [], 'the writer knows no such request', 'says that the firmware is too old for this'),
  refusal(
    0x4,
    'bad-field',
    ['index'],
    'a field is missing, surplus, malformed or out of its range; index counts fields from 1',
    giveUp,
  ),
  refusal(0x5, 'no-chip', [], 'nothing may touch the chip before `chip`', 'identifies again: the writer restarted'),
  refusal(0x6, 'out-of-range', [], 'address and count leave the chip', giveUp),
  refusal(0x7, 'bad-block', [], 'the block crosses a page, is empty or is too large', giveUp),
  refusal(0x8, 'window-full', [], 'more blocks outstanding than announced', 'waits for an answer, sends again'),
  refusal(0x9, 'busy', [], 'blocks are outstanding or a stream is running', 'waits, sends again'),
  refusal(
    0xa,
    'not-driven',
    ['mask'],
    'all eight data lines follow the charge: no chip drives the bus',
    'stops: socket empty, chip turned, no supply, /CE or /OE open',
  ),
  refusal(
    0xb,
    'never-ready',
    ['a'],
    'the write cycle did not end within its limit',
    'stops: wrong part, or a broken chip',
  ),
  refusal(
    0xc,
    'mismatch',
    ['a', 'wanted', 'actual'],
    'after the write cycle this cell read something else; two digits each',
    'says so: protected, worn or broken',
  ),
  refusal(0xd, 'no-protection', [], 'the chosen part has no protection codes', 'says so'),
  refusal(0xe, 'unsafe-hold', [], 'these levels could write the chip or fight its outputs', 'says so'),
  refusal(0xf, 'stopped', [], 'dropped by `stop` before it began', 'notes that it was not written'),
  refusal(0x10, 'bad-rate', [], 'the writer cannot make this rate', 'stays at the old rate'),
] as const satisfies readonly RefusalRow[];

/** Refusal numbers by what they are about, for code that reads better in words. */
export const refusalNumber = {
  badLine: 0x1,
  tooLong: 0x2,
  unknownWord: 0x3,
  badField: 0x4,
  noChip: 0x5,
  outOfRange: 0x6,
  badBlock: 0x7,
  windowFull: 0x8,
  busy: 0x9,
  notDriven: 0xa,
  neverReady: 0xb,
  mismatch: 0xc,
  noProtection: 0xd,
  unsafeHold: 0xe,
  stopped: 0xf,
  badRate: 0x10,
} as const;

/** The row of a refusal, or undefined for a number that this protocol version does not know. */
export const refusalRow = (number: number): RefusalRow | undefined => refusals.find((row) => row.number === number);
