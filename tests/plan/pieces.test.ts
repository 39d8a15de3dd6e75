// Contents `pieces`: files, texts and sums in their places; the expected bytes are laid out here by hand.
import { describe, expect, it } from 'vitest';
import { ToolError } from '../../src/ground/errors.js';
import { writeImage } from '../../src/image/write-image.js';
import {
  buildPlan,
  checkPlan,
  describeDifference,
  inspectPlan,
  listPlan,
  lookAt,
  readPlan,
  romOf,
} from '../../src/plan/plan.js';
import { planted } from './planted.js';

const ascii = (text: string): Uint8Array => new Uint8Array(Buffer.from(text, 'latin1'));
const records = (format: 'hex' | 'srec' | 'memh', at: number, bytes: readonly number[]): Uint8Array => {
  const image = { name: 'x', bytes: new Uint8Array(at + bytes.length), defined: new Uint8Array(at + bytes.length) };
  image.bytes.set(bytes, at);
  image.defined.fill(1, at);
  return writeImage(image, format);
};

const files: Readonly<Record<string, Uint8Array>> = {
  'dir/dew.bin': Uint8Array.of(1, 2, 3, 4, 5),
  'dir/wind.hex': records('hex', 0x20, [0x11, 0x22]),
  'dir/rain.srec': records('srec', 0x8030, [0x33, 0x44]),
  'dir/sea.memh': ascii('@40 55 xx 66\n'),
  'dir/empty.bin': new Uint8Array(),
  'dir/broken.hex': ascii(':0200000011224\n:00000001FF\n'),
  'dir/digits.bin': ascii('123456789'),
};
const readFile = (name: string): Uint8Array => {
  const file = files[name];
  if (!file) throw new ToolError('cli.file-missing', { path: name });
  return file;
};

/** One ROM of 2 KiB with these pieces; its address is the field `cell`. */
const plan = (pieces: readonly string[], more = '', bits = 11): string => `plan: post
fields: { cell: ${bits} }
contents:
  kind: pieces
  address: cell
  ${more}
  pieces:
${pieces.map((piece) => `    - ${piece}`).join('\n')}
roms:
  post:
    chip: 28C16
    address: { cell: A0..A${bits - 1}${bits < 11 ? `, low: A${bits}..A10` : ''} }
    data: { byte: D0..D7 }`;

const built = (text: string) => buildPlan(readPlan(text, 'dir/post.yaml', readFile)).map((b) => b.image);
/** The defined cells as `address: byte`. */
const cells = (text: string): Record<number, number> => {
  const [image] = built(text);
  return Object.fromEntries([...image!.bytes].flatMap((b, i) => (image!.defined[i] ? [[i, b]] : [])));
};
const findings = (text: string) =>
  inspectPlan(text, 'dir/post.yaml', readFile).findings.map((f) => `${f.line}:${f.column} ${f.code}`);
/** What is said, warnings of open cells left out. */
const said = (text: string): string[] =>
  inspectPlan(text, 'dir/post.yaml', readFile)
    .findings.filter((f) => f.code !== 'cell.undefined')
    .map((f) => `${f.message} ${f.why}`);

describe('pieces', () => {
  it('when files of every format are placed then their bytes stand at their addresses', () => {
    const text = plan([
      '{ file: dew.bin, at: 0x10 }',
      '{ file: wind.hex }',
      '{ file: rain.srec, part: 0x8030..0x8031, at: 0x30 }',
      '{ file: sea.memh }',
      '{ file: wind.hex, at: 0x100 }',
    ]);
    expect(cells(text)).toEqual({
      16: 1,
      17: 2,
      18: 3,
      19: 4,
      20: 5,
      32: 0x11,
      33: 0x22,
      48: 0x33,
      49: 0x44,
      64: 0x55,
      66: 0x66,
      288: 0x11,
      289: 0x22,
    });
  });

  it('when a part of a file is taken then its first address goes to the place', () => {
    expect(cells(plan(['{ file: dew.bin, part: 1..2, at: 7 }']))).toEqual({ 7: 2, 8: 3 });
    expect(cells(plan(['{ file: dew.bin, part: 3..0xFF }']))).toEqual({ 0: 4, 1: 5 });
    expect(cells(plan(['{ file: wind.hex, part: 0x1f..0x20 }']))).toEqual({ 1: 0x11 });
  });

  it('when bytes and texts are placed then they are there, and the fill is everywhere else', () => {
    const text = plan(['{ bytes: [0x4C, 0b11, "7"], at: 0b100 }', '{ text: "v4.2", at: 0x7FC }'], 'fill: 0xE5');
    const wanted = new Uint8Array(2048).fill(0xe5);
    wanted.set([0x4c, 3, 7], 4);
    wanted.set(ascii('v4.2'), 0x7fc);
    const [image] = built(text);
    expect(image!.bytes).toEqual(wanted);
    expect(image!.defined).toEqual(new Uint8Array(2048).fill(1));
    expect(findings(text)).toEqual([]);
  });

  it('when a sum is placed then it is the published value of its bytes, in the order asked for', () => {
    const sums = ['crc-16/xmodem', 'crc-32/iso-hdlc', 'sum-8'];
    const text = plan([
      '{ file: digits.bin, at: 0 }',
      `{ sum: ${sums[0]}, of: 0..8, at: 0x10 }`,
      `{ sum: ${sums[0]}, of: 0..8, at: 0x12, order: high-first }`,
      `{ sum: ${sums[1]}, of: 0..8, at: 0x14, order: low-first }`,
      `{ sum: ${sums[1]}, of: [0..3, 4..8], at: 0x18, order: high-first }`,
      `{ sum: ${sums[2]}, of: 0..8, at: 0x1C }`,
      '{ sum: sum-16, of: [0x10..0x11, 0x1C], at: 0x1E }',
    ]);
    const after = Object.entries(cells(text))
      .slice(9)
      .map(([at, byte]) => `${Number(at).toString(16)}:${byte.toString(16)}`);
    expect(after.join(' ')).toBe(
      '10:c3 11:31 12:31 13:c3 14:26 15:39 16:f4 17:cb 18:cb 19:f4 1a:39 1b:26 1c:dd 1e:d1 1f:1',
    );
  });

  it('when words go over several chips then each chip holds its byte of every word', () => {
    const split = (outputs: string, chips: readonly string[]): string => `plan: split
fields: { cell: 2 }
contents: { kind: pieces, address: cell, outputs: ${outputs}, fill: 0xEE, pieces: [{ file: digits.bin }] }
roms:
${chips.map((chip) => `  ${chip}: { chip: 28C16, address: { cell: A0..A1, low: A2..A10 }, data: { ${chip}: D0..D7 } }`).join('\n')}`;
    const sixteen = `${split('[even, odd]', ['even', 'odd'])}`
      .replace('cell: 2', 'cell: 3')
      .replaceAll('cell: A0..A1, low: A2', 'cell: A0..A2, low: A3');
    expect(built(sixteen).map((i) => Buffer.from(i.bytes.subarray(0, 8)).toString('hex'))).toEqual([
      '3133353739eeeeee',
      '32343638eeeeeeee',
    ]);
    const thirtyTwo = split('[low, mid-low, mid-high, high]', ['high', 'low', 'mid-high', 'mid-low']).replace(
      'digits',
      'dew',
    );
    expect(built(thirtyTwo).map((i) => Buffer.from(i.bytes.subarray(0, 4)).toString('hex'))).toEqual([
      '04eeeeee',
      '0105eeee',
      '03eeeeee',
      '02eeeeee',
    ]);
  });

  it('when the last word is not whole then the bytes behind the file are left open', () => {
    const text = plan(['{ file: dew.bin }'], 'outputs: [byte, other]').replace('{ byte: D0..D7 }', '{ other: D7..D0 }');
    const [image] = built(text);
    expect([...image!.defined.subarray(0, 4)]).toEqual([1, 1, 0, 0]);
    expect([...image!.bytes.subarray(0, 2)]).toEqual([0x40, 0x20]);
  });

  it('when they are explained then file and place are said', () => {
    const text = plan(
      ['{ file: dew.bin, part: 1..4, at: 0x10 }', '{ text: AB, at: 0 }', '{ sum: sum-16, of: 0..1, at: 0x20 }'],
      'fill: 0xFF',
    );
    const read = readPlan(text, 'dir/post.yaml', readFile);
    const rom = romOf(read);
    expect(lookAt(read, rom, 0x11).meaning).toBe('cell 17 (0x11): byte 0x03, dew.bin at 0x0002');
    expect(lookAt(read, rom, 1).meaning).toBe('cell 1: byte 0x42, byte 1 of text "AB"');
    expect(lookAt(read, rom, 0x20).meaning).toBe('cell 32 (0x20): byte 0x83, byte 0 of sum-16');
    expect(lookAt(read, rom, 9).meaning).toBe('cell 9: byte 0xFF, the fill');
    expect(describeDifference(rom, 0x11, 3, 7)).toBe(
      'cell 17 (0x11): byte is 0x07 and should be 0x03, dew.bin at 0x0002',
    );
    expect(listPlan(read).map((r) => `${r.when}: ${r.does}`)).toEqual([
      '0x0000..0x0001: text "AB"',
      '0x0010..0x0013: dew.bin, raw binary',
      '0x0020..0x0021: sum-16 of 0x0000..0x0001: 0x83 0x00',
      'elsewhere: 0xFF',
    ]);
    expect(checkPlan(read)).toEqual([]);
  });

  it('when pieces stand in a bank then the bank has them', () => {
    const text = plan(['{ text: AB, at: 0 }'], '', 10)
      .replace('fields: { cell: 10 }', 'fields: { cell: 10, half: 1 }')
      .replace(/contents:\n([\s\S]*)roms:/, (_, inner: string) => {
        const nested = inner.replace(/^/gm, '      ').trimEnd();
        return `contents:\n  kind: banks\n  select: half\n  banks:\n    - value: 1\n      contents:\n${nested}\nroms:`;
      })
      .replace('low: A10..A10', 'half: A10');
    expect(cells(text)).toEqual({ 1024: 0x41, 1025: 0x42 });
  });
});

describe('mistakes in pieces', () => {
  it.each([
    ['a file that is not there', '{ file: <<piece.file>>due.bin }', 'There is no file dir/due.bin'],
    ['a file that is broken', '{ file: <<piece.file>>broken.hex }', 'broken.hex:1:14'],
    ['an empty file', '{ file: <<piece.empty>>empty.bin }', '"empty.bin" defines no byte'],
    [
      'a part without bytes',
      '{ file: wind.hex, part: <<piece.empty>>0..0x1F }',
      'Its addresses run from 0x0020 to 0x0021.',
    ],
    ['a part that is no range', '{ file: wind.hex, part: <<piece.range>>5..x }', '"5..x" is not a range'],
    [
      'addresses that are not there',
      '<<piece.outside>>{ file: rain.srec }',
      'rain.srec goes from 0x0000 to 0x8031, and there are bytes from 0 to 0x07FF',
    ],
    ['a file that is too long', '<<piece.outside>>{ file: dew.bin, at: 0x7FC }', 'goes from 0x07FC to 0x0800'],
    ['a text beyond the end', '<<piece.outside>>{ text: AB, at: 0x7FF }', 'text "AB"'],
    ['no kind', '<<piece.kind>>{ at: 3 }', 'brings no bytes'],
    ['two kinds', '<<piece.kind>>{ at: 3, file: dew.bin, text: AB }', 'both file and text'],
    ['a key of another kind', '{ at: 3, text: AB, <<piece.key>>part: 1..2 }', '"part" means nothing beside "text"'],
    ['a misspelt key', '{ <<shape.unknown-key>>flie: dew.bin }', '"file"'],
    ['no place', '<<shape.missing>>{ text: AB }', 'The key "at" is missing.'],
    ['no bytes to sum', '<<shape.missing>>{ sum: sum-8, at: 0 }', 'The key "of" is missing.'],
    ['a sum nobody published', '{ sum: <<shape.value>>crc-16, of: 0, at: 0 }', 'crc-16/xmodem'],
    ['a text that is not ASCII', '{ text: <<shape.value>>"5 °C", at: 0 }', 'ASCII'],
    ['a byte too large', '{ bytes: [1, <<shape.value>>256], at: 0 }', '0 to 255'],
    ['open bytes in a sum', '{ sum: sum-8, of: <<piece.sum>>0..3, at: 9 }', '4 bytes that no piece sets'],
    [
      'bytes that are not there in a sum',
      '{ sum: sum-8, of: <<piece.range>>0..0x800, at: 9 }',
      'There is no byte 0x0800',
    ],
    ['a sum over itself', '{ sum: sum-8, of: <<piece.sum>>9..9, at: 9 }', 'its own bytes'],
    ['a range that is none in a sum', '{ sum: sum-8, of: [0, <<piece.range>>9..8], at: 9 }', '"9..8" is not a range'],
  ])('when there is %s then one error names it', (_, piece, words) => {
    const { text, expected } = planted(plan([piece]));
    expect(findings(text)).toEqual(expect.arrayContaining(expected));
    expect(said(text).join('\n')).toContain(words);
    expect(said(text)).toHaveLength(1);
  });

  it('when two pieces meet then both are named', () => {
    const { text, expected } = planted(plan(['{ text: ABC, at: 5 }', '<<piece.overlap>>{ file: dew.bin, at: 7 }']));
    expect(findings(text)).toEqual(expected);
    expect(said(text)).toEqual([
      'dew.bin sets the byte 0x0007, which text "ABC" sets already. Each byte comes from one piece; the other is number 1.',
    ]);
    expect(
      findings(plan(['{ file: sea.memh }', '{ bytes: [1], at: 0x41 }'])).filter((f) => f.includes('piece')),
    ).toEqual([]);
  });

  it('when a sum covers one that is written later then their order is the mistake', () => {
    const sums = ['{ sum: sum-8, of: <<piece.sum>>1, at: 0 }', '{ sum: sum-8, of: 2, at: 1 }', '{ bytes: [9], at: 2 }'];
    const { text, expected } = planted(plan(sums));
    expect(findings(text)).toEqual(expected);
    expect(cells(plan([sums[1]!, sums[2]!, '{ sum: sum-8, of: 1, at: 0 }']))).toEqual({ 0: 9, 1: 9, 2: 9 });
  });

  it('when the address is no field then that is the one error', () => {
    const { text, expected } = planted(
      plan(['{ text: AB, at: 0 }']).replace('address: cell', 'address: <<field.unknown>>cel'),
    );
    expect(findings(text)).toEqual(expected);
  });

  it('when nothing can read files then that is said at the file', () => {
    const { findings: found } = inspectPlan(plan(['{ file: dew.bin }']), 'dir/post.yaml');
    expect(found.map((f) => f.message)).toEqual(['Nothing was given to read the file "dew.bin" with.']);
  });

  it('when reading fails in another way then its reason is said in one line', () => {
    const { findings: found } = inspectPlan(plan(['{ file: dew.bin }']), 'post.yaml', () => {
      throw new Error('no such luck\nat somewhere');
    });
    expect(found.map((f) => f.message)).toEqual(['The file "dew.bin" cannot be read: no such luck.']);
  });
});
