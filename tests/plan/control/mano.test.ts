// A published microprogram with 20-bit words: M. M. Mano, Computer System Architecture, 3rd ed., chapter 7.
//
// What stands behind these values: word format, field codes and assembler rules were read in lecture notes and study pages
// that follow the book; the symbolic program (section 7-3) and the binary program (Table 7-3) in transcriptions by third
// parties, which agree with memory of the printed table. Rows 3 and 11 (fillers, not in the symbolic program) and the
// printed form of row 13 rest on one transcription and memory. The book itself was not at hand.
// The three check sums were computed apart from this project from the table with row 13 corrected.
import { describe, expect, it } from 'vitest';
import { crc32IsoHdlc } from '../../../src/ground/check-sums.js';
import { compiled, fieldsOf, romsOf, wordAt } from './compiled.js';

const plan = `
kind: control-by-address
address: car
word:
  F1: { bits: 3, codes: { NOP: 0, ADD: 1, CLRAC: 2, INCAC: 3, DRTAC: 4, DRTAR: 5, PCTAR: 6, WRITE: 7 } }
  F2: { bits: 3, codes: { NOP: 0, SUB: 1, OR: 2, AND: 3, READ: 4, ACTDR: 5, INCDR: 6, PCTDR: 7 } }
  F3: { bits: 3, codes: { NOP: 0, XOR: 1, COM: 2, SHL: 3, SHR: 4, INCPC: 5, ARTPC: 6 } }
  CD: { bits: 2, codes: { U: { code: 0, never: next }, I: 1, S: 2, Z: 3 } }
  BR:
    bits: 2
    codes:
      JMP: { code: 0, goes: [AD, next] }
      CALL: { code: 1, goes: [AD, next] }
      RET: { code: 2, goes: elsewhere }
      MAP: { code: 3, goes: elsewhere }
  AD: { bits: 7, holds: address }
program: |
  origin 0
  ADD:      CD=I BR=CALL AD=INDRCT
            F2=READ AD=next
            F1=ADD AD=FETCH
            AD=FETCH              # a filler in the table, not in the symbolic program
  origin 4
  BRANCH:   CD=S BR=JMP AD=OVER
            CD=U BR=JMP AD=FETCH
  OVER:     CD=I BR=CALL AD=INDRCT
            F3=ARTPC AD=FETCH
  origin 8
  STORE:    CD=I BR=CALL AD=INDRCT
            F2=ACTDR AD=next
            F1=WRITE AD=FETCH
            AD=FETCH              # a filler again
  origin 12
  EXCHANGE: CD=I BR=CALL AD=INDRCT
            F2=READ AD=next
            F2=ACTDR F1=DRTAC AD=next
            F1=WRITE AD=FETCH
  origin 64
  FETCH:    F1=PCTAR AD=next
            F2=READ, F3=INCPC AD=next
            F1=DRTAR BR=MAP
  INDRCT:   F2=READ AD=next
            F1=DRTAR BR=RET
`;

// Table 7-3: address, F1 F2 F3 CD BR AD, and the same 20 bits in hexadecimal.
const table73: readonly (readonly [number, string, string])[] = [
  [0, '000 000 000 01 01 1000011', '002C3'],
  [1, '000 100 000 00 00 0000010', '10002'],
  [2, '001 000 000 00 00 1000000', '20040'],
  [3, '000 000 000 00 00 1000000', '00040'],
  [4, '000 000 000 10 00 0000110', '00406'],
  [5, '000 000 000 00 00 1000000', '00040'],
  [6, '000 000 000 01 01 1000011', '002C3'],
  [7, '000 000 110 00 00 1000000', '03040'],
  [8, '000 000 000 01 01 1000011', '002C3'],
  [9, '000 101 000 00 00 0001010', '1400A'],
  [10, '111 000 000 00 00 1000000', 'E0040'],
  [11, '000 000 000 00 00 1000000', '00040'],
  [12, '000 000 000 01 01 1000011', '002C3'],
  // Printed as 001 000 000 00 00 0001110 (2000E), which is ADD; the symbolic row says READ.
  [13, '000 100 000 00 00 0001110', '1000E'],
  [14, '100 101 000 00 00 0001111', '9400F'],
  [15, '111 000 000 00 00 1000000', 'E0040'],
  [64, '110 000 000 00 00 1000001', 'C0041'],
  [65, '000 100 101 00 00 1000010', '12842'],
  [66, '101 000 000 00 11 0000000', 'A0180'],
  [67, '000 100 000 00 00 1000100', '10044'],
  [68, '101 000 000 00 10 0000000', 'A0100'],
];
const outputs = ['F1', 'F2', 'F3', 'CD', 'BR', 'AD'];

describe('when the published symbolic microprogram of Mano is compiled', () => {
  const { table, findings } = compiled(plan, fieldsOf({ car: 7 }));
  const words = Array.from({ length: 128 }, (_, address) => wordAt(table, [address], outputs));

  it.each(table73)('then address %i holds %s', (address, binary, hexadecimal) => {
    expect(words[address]!.toString(2).padStart(20, '0')).toBe(binary.replaceAll(' ', ''));
    expect(words[address]!.toString(16).toUpperCase().padStart(5, '0')).toBe(hexadecimal);
  });

  it('then no other address holds anything', () => {
    const written = table73.map(([address]) => address);
    expect(words.flatMap((word, address) => (word === null ? [] : [address]))).toEqual(written);
  });

  it('then three byte-wide ROMs have the check sums computed for row 13 as corrected', () => {
    const sums = romsOf(words, 3, 0xff).map((rom) => crc32IsoHdlc(rom).toString(16).toUpperCase());
    expect(sums).toEqual(['45A85E6A', '762B837B', 'E345A1A7']);
  });

  it('then with row 13 as printed only the high ROM has another sum', () => {
    const printed = words.map((word, address) => (address === 13 ? 0x2000e : word));
    const sums = romsOf(printed, 3, 0xff).map((rom) => crc32IsoHdlc(rom).toString(16).toUpperCase());
    expect(sums).toEqual(['45A85E6A', '762B837B', '267D9364']);
  });

  it('then the two filler rows are named as never reached, and nothing else is found', () => {
    expect(findings.map((f) => [f.code, f.message])).toEqual([
      ['row.never', expect.stringContaining('car 3 (ADD + 3)')],
      ['row.never', expect.stringContaining('car 11 (STORE + 3)')],
    ]);
  });
});
