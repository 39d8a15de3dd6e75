// What a person reads when a record file is wrong or odd: the whole sentence, with its place, and what would have been right.
import { describe, expect, it } from 'vitest';
import { ToolError, ToolErrors } from '../../src/ground/errors.js';
import type { ReadImageOptions } from '../../src/image/read-image.js';
import { fileOf, readText } from './reading.js';

const two = (value: number): string => value.toString(16).toUpperCase().padStart(2, '0');

/** An Intel HEX record with a fitting sum. */
const hexRecord = (type: number, offset: number, ...data: number[]): string => {
  const bytes = [data.length, offset >> 8, offset & 0xff, type, ...data];
  return `:${[...bytes, -bytes.reduce((a, b) => a + b, 0) & 0xff].map(two).join('')}`;
};
/** An S-record with a fitting count and sum; `body` is address and data. */
const sRecord = (type: number, ...body: number[]): string => {
  const bytes = [body.length + 1, ...body];
  return `S${type}${[...bytes, ~bytes.reduce((a, b) => a + b, 0) & 0xff].map(two).join('')}`;
};
const hexEnd = ':00000001FF';
const s9 = 'S9030000FC';

/** Sentence and note of every mistake. */
function saidOf(text: Uint8Array | string, options: Partial<ReadImageOptions>): string[] {
  try {
    readText(text, options);
    return [];
  } catch (error) {
    const errors = error instanceof ToolErrors ? error.errors : [error as ToolError];
    return errors.map((e) => (e instanceof ToolError ? `${e.message} ${e.note}` : String(e)));
  }
}
const warningsOf = (text: Uint8Array | string, options: Partial<ReadImageOptions>): string[] =>
  readText(text, options).warnings.map((w) => w.text);

const form = 'A record file holds records only: one a line, hexadecimal digits, no spaces and no comments.';

describe('a character that does not belong', () => {
  it.each([
    ['x00000001FF', 1, 'expected the ":" that begins a record, found "x"'],
    [' :00000001FF', 1, 'expected the ":" that begins a record, found a space'],
    ['\t:00000001FF', 1, 'expected the ":" that begins a record, found a tab'],
    [':0000\x000001FF', 6, 'expected a hexadecimal digit, found a NUL byte'],
    [':000~0001FF', 5, 'expected a hexadecimal digit, found "~"'],
    [':000!0001FF', 5, 'expected a hexadecimal digit, found "!"'],
    [':000\x7f0001FF', 5, 'expected a hexadecimal digit, found the byte 7F'],
    [':000\x1f0001FF', 5, 'expected a hexadecimal digit, found the byte 1F'],
    [':000\xe40001FF', 5, 'expected a hexadecimal digit, found the byte E4'],
  ])('when an Intel HEX line is %j, then it is named', (line, column, sentence) => {
    expect(saidOf(`${line}\n${hexEnd}\n`, { format: 'hex' })[0]).toBe(`x:1:${column}: ${sentence}. ${form}`);
  });

  it.each([
    ['T9030000FC', 1, 'expected the "S" that begins a record, found "T"'],
    ['S', 2, 'expected the digit of the record type, found the end of the line'],
    ['SA030000FC', 2, 'expected the digit of the record type, found "A"'],
    ['S903000GFC', 8, 'expected a hexadecimal digit, found "G"'],
  ])('when an S-record line is %j, then it is named', (line, column, sentence) => {
    expect(saidOf(`${line}\n${s9}\n`, { format: 'srec' })[0]).toBe(`x:1:${column}: ${sentence}. ${form}`);
  });

  it('when a byte order mark comes first, then it is named, and its first bytes alone are none', () => {
    expect(saidOf(`\xef\xbb\xbf${hexEnd}\n`, { format: 'hex' })).toEqual([
      `x:1:1: expected a record, found a byte order mark. ${form}`,
    ]);
    for (const [start, first] of [
      ['\xef\xbb', 'EF'],
      ['\xef:\xbf', 'EF'],
      ['\xbb\xbf', 'BB'],
      ['\xbf', 'BF'],
      ['x\xbb\xbf', '"x"'],
    ] as const) {
      const found = first.startsWith('"') ? first : `the byte ${first}`;
      const wanted = `x:1:1: expected the ":" that begins a record, found ${found}. ${form}`;
      expect(saidOf(`${start}${hexEnd}\n`, { format: 'hex' })[0]).toBe(wanted);
    }
  });
});

describe('a record of the wrong form', () => {
  const broken = 'Make or copy the file again: where one record is damaged, others may be.';
  const shape = `Each byte is two digits, and a record has a length, an address and a sum. ${broken}`;

  it.each([
    [':00000001F', 10, 'an odd number of digits'],
    [':00000001', 9, 'too few digits'],
    [`:${'0'.repeat(522)}`, 523, 'too many digits'],
  ])('when an Intel HEX line has another number of digits, then that is said: %#', (line, column, problem) => {
    expect(saidOf(`${line}\n${hexEnd}\n`, { format: 'hex' })[0]).toBe(
      `x:1:${column}: the record has ${problem}. ${shape}`,
    );
  });

  it('when a record is as long as it can be, then its digits are not too many', () => {
    expect(saidOf(`${hexRecord(0, 0, ...new Array(255).fill(7))}\n${hexEnd}\n`, { format: 'hex' })).toEqual([]);
    expect(saidOf(`:${'0'.repeat(520)}\n${hexEnd}\n`, { format: 'hex' })[0]).toContain('the length says 0 bytes');
  });

  it.each([
    [hexRecord(6, 0), 'x:1:8: unknown record type 6. Record types are 00 to 05.'],
    [hexRecord(1, 0, 5), 'x:1:2: this is a type 01 record with 1 data bytes. It has 0.'],
    [hexRecord(2, 0, 1), 'x:1:2: this is a type 02 record with 1 data bytes. It has 2.'],
    [hexRecord(3, 0, 1, 2), 'x:1:2: this is a type 03 record with 2 data bytes. It has 4.'],
    [hexRecord(4, 1, 0, 0), 'x:1:4: this is a type 04 record with an address. Its address is 0000.'],
    [hexRecord(5, 0), 'x:1:2: this is a type 05 record with 0 data bytes. It has 4.'],
    [
      ':02000000112255',
      `x:1:14: the record's checksum is 55, but its bytes give CB. A digit of this line is wrong. ${broken}`,
    ],
    [
      ':030000001122CB',
      `x:1:2: the length says 3 bytes (data), the line has 2. The length must match the line. ${broken}`,
    ],
  ])('when an Intel HEX record is %s, then the sentence is exact', (line, said) => {
    expect(saidOf(`${line}\n${hexEnd}\n`, { format: 'hex' })[0]).toBe(said);
  });

  it.each([
    [sRecord(4, 0, 0), 'x:1:2: unknown record type S4. Record types are S0 to S3 and S5 to S9.'],
    [
      sRecord(2, 0, 0),
      'x:1:3: this is an S2 record with 3 bytes after its count. It has 4 or more: 3 of the address, the sum, data.',
    ],
    [
      sRecord(5, 0, 0, 0),
      'x:1:3: this is an S5 record with 4 bytes after its count. It has 3: 2 of the address, the sum.',
    ],
    [
      sRecord(9, 0, 0, 0),
      'x:1:3: this is an S9 record with 4 bytes after its count. It has 3: 2 of the address, the sum.',
    ],
    [
      sRecord(1, 0xff, 0xff, 1, 2),
      'x:1:5: this is an S1 record whose data runs past its last address. An S1 record reaches 0xFFFF; more address bytes reach further.',
    ],
    [
      'S104000055A7',
      `x:1:11: the record's checksum is A7, but its bytes give A6. A digit of this line is wrong. ${broken}`,
    ],
    [
      'S105000055A6',
      `x:1:3: the length says 5 bytes (address, data and sum), the line has 4. The length must match the line. ${broken}`,
    ],
  ])('when an S-record is %s, then the sentence is exact', (line, said) => {
    expect(saidOf(`${line}\n${s9}\n`, { format: 'srec' })[0]).toBe(said);
  });

  it('when an S1 record ends at its last address, then it is taken', () => {
    expect(saidOf(`${sRecord(1, 0xff, 0xfe, 1, 2)}\n${s9}\n`, { format: 'srec' })).toEqual([]);
  });
});

describe('bytes that have no cell, or a second one', () => {
  it('when a record goes beyond the chip, then the file own addresses are named', () => {
    expect(saidOf(fileOf(hexRecord(0, 0x80ff, 1, 2), hexEnd), { format: 'hex', base: 0x8000, size: 256 })).toEqual([
      "x:1:4: the record's bytes go to 0x80FF..0x8100, outside 0x8000..0x80FF. The chip has cells 0x8000 to 0x80FF. Does the file belong to a larger chip, or is it linked for another address?",
    ]);
  });

  it('when a cell is set twice, then both values and the first line are named', () => {
    const lines = fileOf(hexRecord(0, 0x8010, 1, 2), hexRecord(0, 0x8010, 1, 3), hexEnd);
    expect(saidOf(lines, { format: 'hex', base: 0x8000 })).toEqual([
      'x:2:12: 0x8011 is set to 03, but line 1 already set it to 02. A cell can be set once. Were two programs joined into one file?',
    ]);
  });

  it('when bytes of a record that wraps are set twice, then the column is that of their digits', () => {
    const lines = fileOf(hexRecord(0, 0, 9), hexRecord(0, 0xfffe, 1, 2, 3), hexEnd);
    expect(saidOf(lines, { format: 'hex' })[0]).toMatch(
      /^x:2:14: 0x0000 is set to 03, but line 1 already set it to 09\./,
    );
  });
});

describe('what is odd in a file that is read', () => {
  it.each<[string, string[], string[]]>([
    ['one byte twice', [hexRecord(0, 0, 1), hexRecord(0, 0, 1)], ['x:2:10: one byte is set again, to the same value.']],
    [
      'two bytes twice',
      [hexRecord(0, 0, 1, 2), hexRecord(0, 0, 1, 2)],
      ['x:2:10: 2 bytes are set again, to the same value, the first of them here.'],
    ],
    ['a blank line', ['', hexRecord(0, 0, 1)], ['x:1:1: a blank line.']],
    ['blank lines', ['', hexRecord(0, 0, 1), ' \t'], ['x:1:1: 2 blank lines, the first of them here.']],
    [
      'a gap',
      [hexRecord(0, 0, 1), hexRecord(0, 4, 1)],
      ['x says nothing about 0x001..0x003, between bytes that it defines.'],
    ],
    [
      'two gaps',
      [hexRecord(0, 0, 1), hexRecord(0, 4, 1), hexRecord(0, 9, 1)],
      ['x has 2 gaps between the bytes that it defines, the first at 0x001..0x003.'],
    ],
    ['nothing at all', [], ['x defines no byte at all.']],
  ])('when an Intel HEX file has %s, then it is told', (_, lines, warnings) => {
    expect(warningsOf(fileOf(...lines, hexEnd), { format: 'hex' })).toEqual(warnings);
  });

  it('when records wrap in their segment, then it is told with their count', () => {
    const options = { format: 'hex', size: 0x10000 } as const;
    const one = fileOf(hexRecord(0, 0xffff, 1, 2), hexEnd);
    expect(warningsOf(one, options)[0]).toBe('x:1:4: a record wraps to the start of the segment.');
    const both = fileOf(hexRecord(0, 0xffff, 1, 2), hexRecord(0, 0xffff, 1, 2), hexEnd);
    expect(warningsOf(both, options)).toContain(
      'x:1:4: 2 records wrap to the start of the segment, the first of them here.',
    );
  });

  it('when the end record carries an address, then it is told', () => {
    expect(warningsOf(fileOf(hexRecord(0, 0, 1), hexRecord(1, 5)), { format: 'hex' })).toEqual([
      'x:2:4: the end record carries an address, which means nothing.',
    ]);
  });

  it('when a start address follows the data, then it is neither data nor an end', () => {
    expect(
      warningsOf(fileOf(hexRecord(0, 0, 1), hexRecord(5, 0, 0, 0, 1, 0), hexRecord(0, 1, 2), hexEnd), {
        format: 'hex',
      }),
    ).toEqual([]);
  });

  it.each<[string, string[], string]>([
    ['mixed types', [sRecord(1, 0, 0, 1), sRecord(2, 0, 0, 1, 1), s9], 'x:2:2: an S2 record among S1 records.'],
    ['a late header', [sRecord(1, 0, 0, 1), sRecord(0, 0, 0), s9], 'x:2:2: a header record after data.'],
    [
      'the end of another type',
      [sRecord(1, 0, 0, 1), sRecord(7, 0, 0, 0, 0)],
      'x:2:2: S7 ends data of S1 records, where S9 belongs.',
    ],
  ])('when an S-record file has %s, then it is told', (_, lines, warning) => {
    expect(warningsOf(fileOf(...lines), { format: 'srec' })).toContain(warning);
  });

  it('when a count of more than two bytes is wrong, then it is refused like the short one', () => {
    expect(saidOf(fileOf(sRecord(1, 0, 0, 1), sRecord(6, 0, 0, 2), s9), { format: 'srec' })[0]).toMatch(
      /^x:2:5: the file says it has 2 data records, but it has 1\./,
    );
  });

  it.each([
    [fileOf(hexEnd), 'a.bin', ['a.bin is read as raw binary, but looks like Intel HEX.']],
    [fileOf(s9), 'a.bin', ['a.bin is read as raw binary, but looks like S-records.']],
    [fileOf('nothing of the kind'), 'a.bin', []],
  ])('when raw binary looks like records or does not, then that is told: %#', (text, file, warnings) => {
    expect(warningsOf(text, { file })).toEqual(warnings);
  });

  it('when raw binary is longer than the chip, then both sizes are named', () => {
    expect(saidOf(new Uint8Array(10), { format: 'bin', size: 8 })).toEqual([
      'x has 10 bytes, 2 more than the 8 cells it must fit into. A raw binary file must not be longer than the chip.',
    ]);
  });
});
