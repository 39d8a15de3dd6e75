// A published microcode of 32-bit words: "MIPS R2000 multi-cycle microcode spec" (a text file on xidus.xidus.net).
//
// Words 0 to 8 were read there as published, and the fields with them. The stored copy that was read is cut after word 8:
// words 9 to 11 were computed from the text's own rows apart from this project, and are marked so.
import { describe, expect, it } from 'vitest';
import { compiled, fieldsOf, wordAt } from './compiled.js';

const plan = `
kind: control-by-address
address: place
word:
  next: { bits: 2, codes: { following: { code: 0, goes: next }, to-start: { code: 1, goes: begin }, by-opcode: 2, by-access: 3 } }
  PCSource: { bits: 2, codes: { result: 0, branch: 1, jump: 2 } }
  ALUOp: { bits: 2, codes: { add: 0, subtract: 1, function: 2 } }
  ALUSrcB: { bits: 2, codes: { register: 0, four: 1, immediate: 2, shifted: 3 } }
  ALUSrcA: {}
  RegDst: {}
  MemToReg: {}
  RegW: {}
  IorD: {}
  MemW: {}
  MemR: {}
  IRWrite: {}
  Cond: {}
  PCWrite: {}
  spare: { bits: 14 }
program: |
  begin:  ALUSrcB=four MemR IRWrite PCWrite
          ALUSrcB=shifted next=by-opcode
  memory: ALUSrcA ALUSrcB=immediate IorD next=by-access
  load:   ALUSrcA ALUSrcB=immediate IorD MemR
          ALUSrcA ALUSrcB=immediate IorD MemR MemToReg RegW next=to-start
  store:  ALUSrcA ALUSrcB=immediate IorD MemW next=to-start
  register: ALUSrcA ALUOp=function
          ALUSrcA ALUOp=function RegDst RegW next=to-start
  immediate: ALUSrcA ALUSrcB=immediate
          ALUSrcA ALUSrcB=immediate RegW next=to-start
  branch: ALUSrcA ALUOp=subtract PCSource=branch Cond next=to-start
  jump:   PCSource=jump PCWrite next=to-start
`;

describe('when the 32-bit microcode text is compiled', () => {
  const { table } = compiled(plan, fieldsOf({ place: 4 }));
  const outputs = [...table.outputs.keys()];
  const wordAtPlace = (place: number): string =>
    wordAt(table, [place], outputs)!.toString(16).toUpperCase().padStart(8, '0');

  it.each([
    [0, '01034000'],
    [1, '83000000'],
    [2, 'C2880000'],
    [3, '028A0000'],
    [4, '42BA0000'],
    [5, '428C0000'],
    [6, '08800000'],
    [7, '48D00000'],
    [8, '02800000'],
  ])('then word %i is %s as published', (place, word) => {
    expect(wordAtPlace(place)).toBe(word);
  });

  it.each([
    [9, '42900000'],
    [10, '54808000'],
    [11, '60004000'],
  ])('then word %i is %s as computed apart, not read', (place, word) => {
    expect(wordAtPlace(place)).toBe(word);
  });
});
