// The firmware's inner loops as the chip's pins see them: cycles a byte, load spacing under traffic, and the stack in use.
import { afterEach, describe, expect, test, vi } from 'vitest';
import { AvrMachine } from '../../src/emulator/avr-machine.js';
import { sramStart } from '../../src/emulator/avr-registers.js';
import { ChipSocket } from '../../src/emulator/chip-socket.js';
import { EepromChip } from '../../src/emulator/eeprom-chip.js';
import { hex } from '../../src/ground/byte-text.js';
import { seededRandom } from '../../src/ground/random.js';
import { BenchSession, checked, cyclesPerUs } from './bench-session.js';

const page64 = '8000 40 2AF8 96 2 1';
/** AT28C040, the largest page: 256 bytes. */
const page256 = '80000 100 2AF8 96 2 1';

afterEach(() => vi.restoreAllMocks());

const block = (seq: number, address: number, bytes: Uint8Array): string =>
  `${hex(seq)} write ${hex(address, 1)} ${Buffer.from(bytes).toString('base64')}`;

/** The cycles at which /WE fell, and at which the chip's outputs were sampled. */
function watchPins(): { falls: number[]; samples: number[] } {
  const falls: number[] = [];
  const samples: number[] = [];
  const { load } = EepromChip.prototype;
  vi.spyOn(EepromChip.prototype, 'load').mockImplementation(function (this: EepromChip, ...args) {
    falls.push(args[2]);
    load.apply(this, args);
  });
  const { sample } = ChipSocket.prototype;
  vi.spyOn(ChipSocket.prototype, 'sample').mockImplementation(function (this: ChipSocket, ...args) {
    samples.push(args[0]);
    return sample.apply(this, args);
  });
  return { falls, samples };
}

const gaps = (times: readonly number[]): number[] => times.slice(1).map((time, i) => time - times[i]!);

describe('when a page is written and no character comes meanwhile', () => {
  test('then loads are 19 cycles apart, and so are the cells compared', () => {
    const session = new BenchSession({ part: 'AT28C256', cycleUs: 1000 });
    session.begin(page64);
    const { falls, samples } = watchPins();
    expect(session.ask(block(1, 0x1240, seededRandom(1).bytes(64)))).toEqual(['01 ok']);
    expect(falls).toHaveLength(64);
    expect(new Set(gaps(falls))).toEqual(new Set([19]));
    // The high and the low bits are sampled one after the other; the last 64 pairs are the comparison.
    expect(new Set(gaps(samples.slice(-128).filter((_, i) => i % 2 === 0)))).toEqual(new Set([19]));
    expect(session.rulesBroken).toEqual([]);
  });
});

describe('when pages of 256 bytes are written while characters come without a pause at 1 000 000 baud', () => {
  test('then no two loads of a page are 100 us apart, every block is right, and no rule of the chip is broken', () => {
    const session = new BenchSession({ part: 'AT28C040', cycleUs: 1000 });
    session.begin(page256, 1_000_000);
    const { falls } = watchPins();
    const bytes = seededRandom(2).bytes(1024);
    session.send(...[0, 1, 2, 3].map((i) => block(i + 1, 256 * i, bytes.subarray(256 * i, 256 * i + 256))));
    // A line without end keeps the receiver busy and nothing else.
    session.raw('y'.repeat(3000));
    expect(session.lines(4)).toEqual(['01 ok', '02 ok', '03 ok', '04 ok']);
    const inPage = gaps(falls).filter((gap) => gap < 150 * cyclesPerUs);
    expect(falls).toHaveLength(1024);
    expect(inPage).toHaveLength(1020);
    expect(Math.max(...inPage)).toBeLessThan(100 * cyclesPerUs);
    expect(Math.max(...inPage)).toBeGreaterThan(19);
    expect(Buffer.from(session.bench.truth.subarray(0, 1024)).equals(Buffer.from(bytes))).toBe(true);
    expect(session.rulesBroken).toEqual([]);
  });
});

describe('when sixteen blocks are sent at once at 1 000 000 baud', () => {
  test('then none is lost', () => {
    const session = new BenchSession({ part: 'AT28C256', cycleUs: 3000 });
    session.begin(page64, 1_000_000);
    const bytes = seededRandom(3).bytes(1024);
    const seqs = Array.from({ length: 16 }, (_, i) => i + 1);
    session.send(...seqs.map((seq) => block(seq, 64 * (seq - 1), bytes.subarray(64 * (seq - 1), 64 * seq))));
    expect(session.lines(16)).toEqual(seqs.map((seq) => `${hex(seq)} ok`));
    expect(session.bench.writeCycles).toBe(16);
  });
});

describe('when everything the writer can do has been asked of it', () => {
  test('then its stack has not come near its variables', () => {
    let machine: AvrMachine | null = null;
    const { run } = AvrMachine.prototype;
    vi.spyOn(AvrMachine.prototype, 'run').mockImplementation(function (this: AvrMachine, until) {
      machine = this;
      run.call(this, until);
    });
    const session = new BenchSession({ part: 'AT28C256', cycleUs: 1000, seed: 77 });
    session.lines(1);
    // After a start the stack has hardly been used; what lies below it is still the noise of power-up.
    const before = machine!.sram.slice();
    session.ask('F0 chip 8000 40 2AF8 96 2 2');
    for (const request of [
      'read 0 1FF',
      'sum 0 400 40',
      'presence 0',
      'registers',
      'protect',
      'unprotect',
      'hold 0 7 55',
    ]) {
      session.ask(`01 ${request}`);
    }
    session.send(...[2, 3, 4].map((seq) => block(seq, 64 * seq, seededRandom(seq).bytes(64))), '05 who', '06 stop');
    session.raw(`${checked('07 write 0 Zm9')}\n${'x'.repeat(500)}\n`);
    session.lines(7);
    const changed = [...machine!.sram.entries()].filter(([i, byte]) => byte !== before[i]).map(([i]) => i + sramStart);
    const stackTop = 0x7ff;
    // Between the variables and the deepest stack there is a stretch that nobody touched: the longest one of all.
    const below = changed.filter((address) => address <= stackTop);
    const untouched = gaps(below).reduce((longest, gap) => Math.max(longest, gap), 0);
    expect(untouched).toBeGreaterThan(64);
  });
});
