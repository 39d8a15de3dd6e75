// A published multicycle control: D. A. Patterson and J. L. Hennessy, Computer Organization and Design, MIPS edition,
// the appendix "Mapping Control to Hardware" (Appendix D in the 6th edition, C or D in earlier ones).
//
// What stands behind these values: control bits, AddrCtl and dispatch tables were read in a course's transcription of the
// book; the ten words were also derived from the lists of asserted signals, without a difference. The symbolic
// microprogram, the translation of its fields and the next-state table are from memory of the book, with the field names
// confirmed in course notes; they are consistent with the transcription. The book itself was not at hand, and figure
// numbers are not given for that reason. The check sums were computed apart from this project.
import { describe, expect, it } from 'vitest';
import { crc32IsoHdlc } from '../../../src/ground/check-sums.js';
import { compiled, fieldsOf, romsOf, wordAt } from './compiled.js';

const plan = `
kind: control-by-address
address: state
word:
  PCWrite: {}
  PCWriteCond: {}
  IorD: {}
  MemRead: {}
  MemWrite: {}
  IRWrite: {}
  MemtoReg: {}
  PCSource: { bits: 2, codes: { ALU: 0, ALUOut: 1, Jump-address: 2 } }
  ALUOp: { bits: 2, codes: { Add: 0, Subt: 1, Func-code: 2 } }
  ALUSrcB: { bits: 2, codes: { B: 0, Four: 1, Extend: 2, Extshft: 3 } }
  ALUSrcA: { bits: 1, codes: { PC: 0, A: 1 } }
  RegWrite: {}
  RegDst: {}
  AddrCtl:
    bits: 2
    codes:
      Fetch: { code: 0, goes: Fetch }
      Dispatch-1: { code: 1, goes: Dispatch-ROM-1 }
      Dispatch-2: { code: 2, goes: Dispatch-ROM-2 }
      Seq: { code: 3, goes: next }
dispatch:
  Dispatch-ROM-1:
    by: opcode
    codes: { R-format: 0b000000, jmp: 0b000010, beq: 0b000100, lw: 0b100011, sw: 0b101011 }
    to: { R-format: Rformat1, jmp: JUMP1, beq: BEQ1, lw: Mem1, sw: Mem1 }
  Dispatch-ROM-2:
    by: opcode
    to: { "0b100011": LW2, "0b101011": SW2 }
following: NS
program: |
  Fetch:    ALUOp=Add ALUSrcA=PC ALUSrcB=Four  MemRead IRWrite  PCSource=ALU PCWrite  AddrCtl=Seq
            ALUOp=Add ALUSrcA=PC ALUSrcB=Extshft                                      AddrCtl=Dispatch-1
  Mem1:     ALUOp=Add ALUSrcA=A ALUSrcB=Extend                                        AddrCtl=Dispatch-2
  LW2:      MemRead IorD                                                              AddrCtl=Seq
            RegWrite MemtoReg                                                         AddrCtl=Fetch
  SW2:      MemWrite IorD                                                             AddrCtl=Fetch
  Rformat1: ALUOp=Func-code ALUSrcA=A ALUSrcB=B                                       AddrCtl=Seq
            RegWrite RegDst                                                           AddrCtl=Fetch
  BEQ1:     ALUOp=Subt ALUSrcA=A ALUSrcB=B  PCSource=ALUOut PCWriteCond               AddrCtl=Fetch
  JUMP1:    PCSource=Jump-address PCWrite                                             AddrCtl=Fetch
`;

// State, 16 control bits in the book's order, the same in hexadecimal, AddrCtl, and the 18-bit word.
const controlRom: readonly (readonly [number, string, string, string, string])[] = [
  [0, '1001010000001000', '9408', '11', '25023'],
  [1, '0000000000011000', '0018', '01', '00061'],
  [2, '0000000000010100', '0014', '10', '00052'],
  [3, '0011000000000000', '3000', '11', '0C003'],
  [4, '0000001000000010', '0202', '00', '00808'],
  [5, '0010100000000000', '2800', '00', '0A000'],
  [6, '0000000001000100', '0044', '11', '00113'],
  [7, '0000000000000011', '0003', '00', '0000C'],
  [8, '0100000010100100', '40A4', '00', '10290'],
  [9, '1000000100000000', '8100', '00', '20400'],
];
const opcodes = { r: 0b000000, jmp: 0b000010, beq: 0b000100, lw: 0b100011, sw: 0b101011 };
const all = Object.values(opcodes);

const { table, findings } = compiled(plan, fieldsOf({ state: 4, opcode: 6 }));
const outputs = [...table.outputs.keys()];
const control = outputs.slice(0, 13);

describe('when the published symbolic microprogram of Patterson and Hennessy is compiled', () => {
  const words = Array.from({ length: 16 }, (_, state) => wordAt(table, [state, 0], [...control, 'AddrCtl']));

  it.each(controlRom)('then state %i holds %s', (state, bits, bitsInHex, addrCtl, word) => {
    const made = wordAt(table, [state, 0], control)!;
    expect(made.toString(2).padStart(16, '0')).toBe(bits);
    expect(made.toString(16).toUpperCase().padStart(4, '0')).toBe(bitsInHex);
    expect(wordAt(table, [state, 0], ['AddrCtl'])!.toString(2).padStart(2, '0')).toBe(addrCtl);
    expect(words[state]!.toString(16).toUpperCase().padStart(5, '0')).toBe(word);
  });

  it.each([
    [0xff, ['A11C3E7C', '67C7FFC8', 'C0353322']],
    [0x00, ['510772DF', '97DCB36B', '302E7F81']],
  ])('then with unused words at %i three byte-wide ROMs have these check sums', (fill, sums) => {
    expect(romsOf(words, 3, fill).map((rom) => crc32IsoHdlc(rom).toString(16).toUpperCase())).toEqual(sums);
  });

  it('then nothing is wrong with it', () => {
    expect(findings).toEqual([]);
  });
});

describe('when the dispatch ROMs are compiled from the same microprogram', () => {
  it('then the first leads each opcode to its routine', () => {
    const targets = all.map((opcode) => wordAt(table, [0, opcode], ['Dispatch-ROM-1']));
    expect(targets).toEqual([0b0110, 0b1001, 0b1000, 0b0010, 0b0010]);
  });

  it('then the second leads load and store on, and no other opcode', () => {
    const targets = Array.from({ length: 64 }, (_, opcode) => wordAt(table, [0, opcode], ['Dispatch-ROM-2']));
    expect(targets.flatMap((to, opcode) => (to === null ? [] : [[opcode, to]]))).toEqual([
      [opcodes.lw, 0b0011],
      [opcodes.sw, 0b0101],
    ]);
  });
});

describe('when the next-state outputs are compiled from the same microprogram', () => {
  it.each([
    [0, [1, 1, 1, 1, 1]],
    [1, [6, 9, 8, 2, 2]],
    [2, [null, null, null, 3, 5]],
    [3, [4, 4, 4, 4, 4]],
    [4, [0, 0, 0, 0, 0]],
    [5, [0, 0, 0, 0, 0]],
    [6, [7, 7, 7, 7, 7]],
    [7, [0, 0, 0, 0, 0]],
    [8, [0, 0, 0, 0, 0]],
    [9, [0, 0, 0, 0, 0]],
  ])('then state %i goes on to %j for R-format, jmp, beq, lw, sw', (state, next) => {
    expect(all.map((opcode) => wordAt(table, [state, opcode], ['NS']))).toEqual(next);
  });

  it('then one ROM of 2^10 words would have 20 bits, and two parts 256 and 4096', () => {
    const bits = (names: readonly string[]): number => names.reduce((sum, name) => sum + table.outputs.get(name)!, 0);
    const inputBits = [...table.inputs.values()].reduce((a, b) => a + b, 0);
    expect(2 ** inputBits * bits([...control, 'NS'])).toBe(20480);
    expect(2 ** table.inputs.get('state')! * bits(control) + 2 ** inputBits * bits(['NS'])).toBe(4352);
  });
});
