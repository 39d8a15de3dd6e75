import { describe, expect, it } from 'vitest';
import { cellsOf, fileOf, kindsOf, mistakesIn, readText } from './reading.js';

const srec = { format: 'srec' } as const;

// Motorola, 68EVB912B32UM/D, appendix A: the printed module, 52 bytes at 0000 to 0033.
const motorolaModule = [
  'S00600004844521B',
  'S1130000285F245F2212226A000424290008237C2A',
  'S11300100002000800082629001853812341001813',
  'S113002041E900084E42234300182342000824A952',
  'S107003000144ED492',
  'S9030000FC',
];

describe('a printed S-record file', () => {
  it('when it is the module of Motorola 68EVB912B32UM/D, appendix A, then 52 bytes are defined', () => {
    const read = readText(fileOf(...motorolaModule), srec);
    expect(read.image.bytes.length).toBe(52);
    expect(read.image.defined.every((d) => d === 1)).toBe(true);
    expect(Buffer.from(read.image.bytes.subarray(0, 4)).toString('hex')).toBe('285f245f');
    expect(Buffer.from(read.image.bytes.subarray(48)).toString('hex')).toBe('00144ed4');
    expect(read.warnings).toEqual([]);
  });

  it('when a count record stands before its end, then the count is held to the data records', () => {
    const withCount = (count: string) => fileOf(...motorolaModule.slice(0, 5), count, motorolaModule[5]!);
    expect(mistakesIn(withCount('S5030004F8'), srec)).toEqual([]);
    expect(mistakesIn(withCount('S5030005F7'), srec)).toEqual(['image.record-count 6:5']);
    expect(mistakesIn(withCount('S604000004F7'), srec)).toEqual([]);
    expect(
      mistakesIn(fileOf(motorolaModule[0]!, ...motorolaModule.slice(2, 5), 'S5030004F8', 'S9030000FC'), srec),
    ).toEqual(['image.record-count 5:5']);
  });

  // Motorola, M68CPU32BUG/D Rev 1, page A-3: the count says 19 bytes, the printed line has 7, and the sum is 0B, not FF.
  it('when it is the misprint of Motorola M68CPU32BUG/D Rev 1, page A-3, then it is refused', () => {
    const misprint = [...motorolaModule.slice(0, 4), 'S113003000144ED492', 'S9030000FC'];
    expect(mistakesIn(fileOf(...misprint), srec)).toEqual(['image.record-length 5:3']);
  });

  // A description of the format with examples (sonic.net, s19_records); sums checked by Motorola's rule.
  it('when its data is text, then S1 and S2 records hold it', () => {
    const s1 = readText(fileOf('S10D1000736F6D6520646174610074', 'S9030000FC'), srec);
    expect(Buffer.from(s1.image.bytes.subarray(0x1000)).toString('latin1')).toBe('some data\0');
    const s2 = readText(fileOf('S21D0100006461746120617420612068696768657220616464726573730034', 'S804000000FB'), srec);
    expect(Buffer.from(s2.image.bytes.subarray(0x10000)).toString('latin1')).toBe('data at a higher address\0');
  });

  // DTS Insight, S-record format, S3 example.
  it('when it lies at CAFE0100, then it needs its base', () => {
    const lines = fileOf(
      'S00C000054455354312E4845586F',
      'S315CAFE010055AA55AA55AA55AA55AA55AA55AA55AA29',
      'S315CAFE0110000102030405060708090A0B0C0D0E0F99',
      'S70500000000FA',
    );
    expect(mistakesIn(lines, srec)).toEqual(['image.outside 2:5']);
    const { image, warnings } = readText(lines, { ...srec, base: 0xcafe0100 });
    expect(Buffer.from(image.bytes).toString('hex')).toBe(
      '55aa55aa55aa55aa55aa55aa55aa55aa000102030405060708090a0b0c0d0e0f',
    );
    expect(warnings).toEqual([]);
  });
});

describe('a damaged S-record file', () => {
  it.each([
    [['S10400001', 'S9030000FC'], 'image.record-shape 1:9'],
    [['S1040000551A6', 'S9030000FC'], 'image.record-shape 1:13'],
    [['S104000055A7', 'S9030000FC'], 'image.record-sum 1:11'],
    [['S1050000550055', 'S9030000FC'], 'image.record-sum 1:13'],
    [['S1060000550055', 'S9030000FC'], 'image.record-length 1:3'],
    [['s104000055A6', 'S9030000FC'], 'image.character 1:1'],
    [['SX04000055A6', 'S9030000FC'], 'image.character 1:2'],
    [['S', 'S9030000FC'], 'image.character 1:2'],
    [['S1040000 55A6', 'S9030000FC'], 'image.character 1:9'],
    [['S404000055A6', 'S9030000FC'], 'image.record-type 1:2'],
    [['S2030000FC', 'S9030000FC'], 'image.record-field 1:3'],
    [['S904000055A6'], 'image.record-field 1:3'],
    [['S105FFFF1122C9', 'S9030000FC'], 'image.record-field 1:5'],
    [['S104000055A6'], 'image.no-end 2:1'],
    [['S104000055A6', 'S104000056A5', 'S9030000FC'], 'image.overlap 2:9'],
    [['S9030000FC', 'S104000055A6'], 'image.after-end 2:1'],
    [[':00000001FF'], 'image.character 1:1'],
  ])('when it is %j, then it is refused as %s', (lines, wanted) => {
    expect(mistakesIn(fileOf(...lines), srec)[0]).toBe(wanted);
  });

  // The sum does not cover the type digit, so only the company it keeps can show that it is damaged.
  it.each([
    ['mixed-types', ['S104000055A6', 'S20500000155A4', 'S804000000FB']],
    ['end-type', ['S104000055A6', 'S804000000FB']],
    ['late-header', ['S104000055A6', 'S00600004844521B', 'S9030000FC']],
    ['same-bytes-twice', ['S104000055A6', 'S104000055A6', 'S9030000FC']],
    ['blank-line', ['S104000055A6', '', 'S9030000FC']],
  ])('when it shows %s, then it is read and told', (kind, lines) => {
    const read = readText(fileOf(...lines), srec);
    expect(kindsOf(read)).toEqual([kind]);
    expect(cellsOf(read.image)[0]).toEqual([0, 0x55]);
  });
});
