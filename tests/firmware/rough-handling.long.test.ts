// The firmware under noise, floods, resets and hosts that vanish: it always finds its feet, and never writes what nobody asked for.
import { describe, expect, test } from 'vitest';
import { hex } from '../../src/ground/byte-text.js';
import { seededRandom } from '../../src/ground/random.js';
import { BenchSession, checked, cyclesPerMs } from './bench-session.js';

const page64 = '8000 40 2AF8 96 2 1';
const writeZeros = (seq: number, address: number): string =>
  `${hex(seq)} write ${hex(address, 1)} ${Buffer.alloc(64).toString('base64')}`;
const nonceOf = (line: string): string => /nonce=([0-9A-F]+)/.exec(line)![1]!;

describe('when the writer starts', () => {
  test('then it says nothing and leaves the chip alone for 25 ms', () => {
    const session = new BenchSession({ part: 'AT28C256' });
    expect(session.wait(25)).toEqual([]);
    const [greeting] = session.lines(1, 30);
    expect(greeting).toMatch(/^00 writer version=2 /);
    expect(session.rulesBroken).toEqual([]);
  });

  test('then its nonce is another one after every reset and every loss of power', () => {
    const session = new BenchSession({ part: 'AT28C256' });
    const nonces = [nonceOf(session.lines(1)[0]!)];
    for (let i = 0; i < 12; i++) {
      if (i % 3 === 2) session.bench.cutPower(5);
      else session.bench.resetWriter();
      nonces.push(nonceOf(session.lines(1)[0]!));
    }
    expect(new Set(nonces).size).toBe(nonces.length);
  });

  test('then the choice of the chip is gone, and nothing touches it', () => {
    const session = new BenchSession({ part: 'AT28C256' });
    session.begin(page64);
    session.bench.resetWriter();
    session.lines(1);
    for (const request of ['read 0 1', 'sum 0 40 40', 'presence 0', 'protect', 'write 0 AA==']) {
      expect(session.ask(`01 ${request}`)).toEqual(['01 no 5']);
    }
    expect(session.bench.writeCycles).toBe(0);
  });

  test('then a write cycle that the reset fell into ends undisturbed', () => {
    const session = new BenchSession({ part: 'AT28C256', cycleUs: 10_000 });
    session.begin(page64);
    session.send(writeZeros(1, 0x40));
    session.wait(12);
    expect(session.bench.writeCycles).toBe(1);
    session.bench.resetWriter();
    session.lines(1);
    expect(session.bench.truth.subarray(0x40, 0x80).every((byte) => byte === 0)).toBe(true);
    expect(session.rulesBroken).toEqual([]);
  });
});

describe('when more comes than the writer can hold', () => {
  test('then it refuses or misses lines, but every block that it takes is right', () => {
    const session = new BenchSession({ part: 'AT28C256', cycleUs: 5000 });
    session.begin(page64, 1_000_000);
    const seqs = Array.from({ length: 60 }, (_, i) => i + 1);
    session.send(...seqs.map((seq) => writeZeros(seq, 64 * seq)));
    const answers = session.wait(400);
    const taken = seqs.filter((seq) => answers.includes(`${hex(seq)} ok`));
    expect(taken.length).toBeGreaterThanOrEqual(16);
    expect(taken.length).toBeLessThan(60);
    expect(answers.filter((answer) => !/^.. ok$|^.. no 8$|^00 no [12]$/.test(answer))).toEqual([]);
    const written = seqs.filter((seq) => session.bench.truth[64 * seq] === 0);
    expect(written).toEqual(taken);
    session.raw('\n');
    expect(session.ask('70 echo Zm9v')).toEqual(['70 ok Zm9v']);
    expect(session.rulesBroken).toEqual([]);
  });
});

describe('when the host speaks at another rate', () => {
  test('then nothing is acted on, and the next line at the right rate is understood', () => {
    const session = new BenchSession({ part: 'AT28C256' });
    session.begin(page64);
    session.bench.line.setHostBaud(500_000, session.bench.cycles);
    session.send(...[1, 2, 3, 4].map((seq) => writeZeros(seq, 64 * seq)));
    session.wait(20);
    session.bench.line.setHostBaud(115_200, session.bench.cycles);
    session.raw('\n');
    session.wait(20);
    expect(session.bench.writeCycles).toBe(0);
    expect(session.ask('05 who')[0]).toMatch(/^05 writer /);
  });
});

describe('when noise comes', () => {
  test.each([1, 2, 3])('then with seed %d no cell changes, and the line after an LF is understood', (seed) => {
    const random = seededRandom(seed);
    const session = new BenchSession({ part: 'AT28C256', seed });
    session.begin(page64);
    for (let turn = 0; turn < 6; turn++) {
      const noise = random.bytes(random.below(700));
      const line = checked(writeZeros(9, 0x400));
      const place = random.below(line.length);
      session.raw(Buffer.from(noise).toString('latin1'));
      session.raw(
        `\n${line.slice(0, place)}${String.fromCharCode(line.charCodeAt(place) ^ 1)}${line.slice(place + 1)}\n\n`,
      );
      session.wait(150);
      expect(session.ask('0A echo AAEC')).toEqual(['0A ok AAEC']);
    }
    expect(session.bench.writeCycles).toBe(0);
  });
});

describe('when the host vanishes in the middle', () => {
  test('then what was taken is finished, and the writer is back at 115200 within the time of the page', () => {
    const session = new BenchSession({ part: 'AT28C256', cycleUs: 3000 });
    session.begin(page64, 1_000_000);
    session.send(...[1, 2, 3].map((seq) => writeZeros(seq, 64 * seq)));
    session.raw(checked(writeZeros(4, 0x400)).slice(0, 50));
    session.wait(3100);
    session.bench.line.setHostBaud(115_200, session.bench.cycles);
    session.raw('\n');
    session.wait(20);
    expect(session.ask('05 who')[0]).toMatch(/^05 writer /);
    expect(session.bench.writeCycles).toBe(3);
  });

  test('then a new rate that nobody uses is left after half a second', () => {
    const session = new BenchSession({ part: 'AT28C256' });
    session.lines(1);
    expect(session.ask('01 rate F4240')).toEqual(['01 ok']);
    const from = session.bench.cycles;
    session.wait(540);
    session.raw('\n');
    expect(session.ask('02 who')[0]).toMatch(/^02 writer /);
    expect(session.bench.cycles - from).toBeLessThan(600 * cyclesPerMs);
  });
});
