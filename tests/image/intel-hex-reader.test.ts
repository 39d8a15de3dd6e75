import { describe, expect, it } from 'vitest';
import { cellsOf, fileOf, kindsOf, mistakesIn, readText } from './reading.js';

const end = ':00000001FF';
const hex = { format: 'hex' } as const;

// Field values: Intel, Hexadecimal Object File Format Specification, Revision A, 6 January 1988. It prints no example file;
// the records below are built from its fields, their sums checked by its rule.
describe('a record built by the Intel specification', () => {
  it.each([':020000021000EC', ':020000040001F9', ':02000004FFFFFC', ':0400000300003800C1', ':04000005000000CD2A'])(
    'when %s stands alone, then it is read and defines no byte',
    (record) => {
      const read = readText(fileOf(record, end), hex);
      expect(cellsOf(read.image)).toEqual([]);
      expect(kindsOf(read)).toEqual(['empty']);
    },
  );

  it('when 16 bytes stand at 0000, then they are 00 to 0F', () => {
    const read = readText(fileOf(':10000000000102030405060708090A0B0C0D0E0F78', end), hex);
    expect(cellsOf(read.image)).toEqual(Array.from({ length: 16 }, (_, i) => [i, i]));
    expect(read.warnings).toEqual([]);
  });

  it('when 16 bytes of FF stand at 7FF0, then they are defined although an erased cell reads FF', () => {
    const { image } = readText(fileOf(':107FF000FFFFFFFFFFFFFFFFFFFFFFFFFFFFFFFF91', end), hex);
    expect(cellsOf(image)).toEqual(Array.from({ length: 16 }, (_, i) => [0x7ff0 + i, 0xff]));
    expect(image.bytes.length).toBe(0x8000);
  });

  it('when only the end record is there, then the image is empty and says so', () => {
    const read = readText(fileOf(end), hex);
    expect(read.image.bytes.length).toBe(0);
    expect(kindsOf(read)).toEqual(['empty']);
  });
});

// The address rules of sections 3 (segments wrap at 64 KiB) and 4 (linear addresses do not).
describe('a record across the 64 KiB edge', () => {
  const record = ':04FFFE00AABBCCDDF1';
  it.each([
    ['no address record', [], [0x0fffe, 0x0ffff, 0x00000, 0x00001], ['segment-wrap']],
    ['a segment record', [':020000021000EC'], [0x1fffe, 0x1ffff, 0x10000, 0x10001], ['segment-wrap']],
    ['a linear record', [':020000040001F9'], [0x1fffe, 0x1ffff, 0x20000, 0x20001], []],
  ] as const)('when it follows %s, then its bytes go where the specification says', (_, before, addresses, kinds) => {
    const read = readText(fileOf(...before, record, end), hex);
    const wanted = addresses.map((a, i): [number, number] => [a, [0xaa, 0xbb, 0xcc, 0xdd][i]!]);
    expect(cellsOf(read.image)).toEqual(wanted.sort((a, b) => a[0] - b[0]));
    expect(kindsOf(read).filter((k) => k !== 'gap')).toEqual(kinds);
  });

  it('when a linear record ends at 4 GiB, then it goes on at 0', () => {
    const lines = fileOf(':02000004FFFFFC', record, end);
    expect(mistakesIn(lines, { ...hex, base: 0xffff0000, size: 0x10000 })).toEqual(['image.outside 2:4']);
    expect(mistakesIn(lines, hex)).toEqual(['image.outside 2:4']);
  });

  it('when the last bytes below 4 GiB are read with their base, then they are there', () => {
    const { image } = readText(fileOf(':02000004FFFFFC', ':02FFFE001122CE', end), { ...hex, base: 0xffff0000 });
    expect(cellsOf(image, 0xffff0000)).toEqual([
      [0xfffffffe, 0x11],
      [0xffffffff, 0x22],
    ]);
  });
});

describe('a record printed elsewhere', () => {
  it('when the one of the ASEM-51 manual, appendix E, is read, then its 16 bytes stand at E000', () => {
    const { image } = readText(fileOf(':10E0000002E003E4F588758910F58DF58BD28E302A', end), hex);
    expect(cellsOf(image).length).toBe(16);
    expect(cellsOf(image)[0]).toEqual([0xe000, 0x02]);
  });

  it('when the one of Emerson PmT1/PmE1 User Manual 10002367-02, chapter 8, is read, then its 4 bytes stand at 0030', () => {
    const { image } = readText(fileOf(':04003000902BB4FD60', end), hex);
    expect(cellsOf(image)).toEqual([
      [0x30, 0x90],
      [0x31, 0x2b],
      [0x32, 0xb4],
      [0x33, 0xfd],
    ]);
  });
});

// Inputs on which Intel HEX readers in use differ, or read garbage (measured: intel-hex 0.2.0, nrf-intel-hex 1.4.0, objcopy 2.40).
describe('a damaged Intel HEX file', () => {
  it.each([
    [[':02000000GG0000', end], 'image.character 1:10'],
    [[':0400000012GG340000', end], 'image.character 1:12'],
    [[':020x10001234A8', end], 'image.character 1:5'],
    [[':+20000001234B8', end], 'image.character 1:2'],
    [[':0200000G1234B8', end], 'image.character 1:9'],
    [[':0100000000FF', ':-600070000000000', end], 'image.character 2:2'],
    [[':0200000012345B8', end], 'image.record-shape 1:16'],
    [[':020000001111DC', ':020001002222B9', end], 'image.overlap 2:10'],
    [[':020000001122CB', ':020000001123CA', end], 'image.overlap 2:12'],
    [[end, ':020000001111DC'], 'image.after-end 2:1'],
    [[end, 'junk'], 'image.after-end 2:1'],
    [[':020000001111DC'], 'image.no-end 2:1'],
    [[':020000040FFFEC', ':0100000055AA', end], 'image.outside 2:4'],
    [[':020000047FFF7C', ':0100000055AA', end], 'image.outside 2:4'],
    [[':0200000480007A', ':0100000055AA', end], 'image.outside 2:4'],
    [[':02000004FFFFFC', ':0100000055AA', end], 'image.outside 2:4'],
    [[':020000001111DC:020002002222B8', end], 'image.character 1:16'],
    [[':020000001111DC ', end], 'image.character 1:16'],
    [[' :020000001111DC', end], 'image.character 1:1'],
    [['\xef\xbb\xbf:020000001111DC', end], 'image.character 1:1'],
    [['; a comment', end], 'image.character 1:1'],
    [[':020000001111DC', ':0200'], 'image.record-shape 2:5'],
    [[':030000001111DC', end], 'image.record-length 1:2'],
    [[':020000001111DD', end], 'image.record-sum 1:14'],
    [[':00000006FA', end], 'image.record-type 1:8'],
    [[':01000002807D', end], 'image.record-field 1:2'],
    [[':020001040000F9', end], 'image.record-field 1:4'],
    [[':0100000100FE'], 'image.record-field 1:2'],
    [[''], 'image.no-end 2:1'],
  ])('when it is %j, then it is refused as %s', (lines, wanted) => {
    expect(mistakesIn(fileOf(...lines), hex)[0]).toBe(wanted);
  });

  it('when the same bytes are set twice, then it is read and told', () => {
    const read = readText(fileOf(':020000001111DC', ':020000001111DC', end), hex);
    expect(kindsOf(read)).toEqual(['same-bytes-twice']);
    expect(read.warnings[0]).toMatchObject({
      count: 2,
      text: 'x:2:10: 2 bytes are set again, to the same value, the first of them here.',
    });
  });

  it('when a record crosses the end of an 8-bit file, then the specification decides and it is told', () => {
    const read = readText(fileOf(':02FFFF001122CD', end), hex);
    expect(cellsOf(read.image)).toEqual([
      [0, 0x22],
      [0xffff, 0x11],
    ]);
    expect(kindsOf(read)).toContain('segment-wrap');
  });

  it('when a hole is between two records, then it is told and stays undefined', () => {
    const read = readText(fileOf(':020000001111DC', ':020010002222AA', end), hex);
    expect(read.image.defined.slice(0, 4)).toEqual(Uint8Array.of(1, 1, 0, 0));
    expect(read.warnings.map((w) => w.text)).toEqual([
      'x says nothing about 0x002..0x00F, between bytes that it defines.',
    ]);
  });

  it('when the end record carries an address, then it is told', () => {
    expect(kindsOf(readText(fileOf(':020000001111DC', ':00123401B9'), hex))).toEqual(['end-address']);
  });

  it.each(['\n', '\r\n', '\r'])('when lines end with %j and digits are lower case, then it is read', (eol) => {
    const read = readText(`:02000000abcd86${eol}${end.toLowerCase()}${eol}`, hex);
    expect(cellsOf(read.image)).toEqual([
      [0, 0xab],
      [1, 0xcd],
    ]);
    expect(read.warnings).toEqual([]);
  });

  it('when a blank line is in it, then it is read and told', () => {
    const read = readText(fileOf(':020000001111DC', '', '  ', end, ''), hex);
    expect(cellsOf(read.image).length).toBe(2);
    expect(read.warnings).toMatchObject([{ kind: 'blank-line', count: 2 }]);
  });

  it('when a record has no data, then it defines nothing', () => {
    const read = readText(fileOf(':00000500FB', end), hex);
    expect(cellsOf(read.image)).toEqual([]);
  });

  it('when several lines are damaged, then all are said at once, and nothing that only follows from them', () => {
    const lines = [':020000001111DD', ':0200000G1111DC', ':020000001111DC', ':020000002222BA'];
    expect(mistakesIn(fileOf(...lines), hex)).toEqual(['image.record-sum 1:14', 'image.character 2:9']);
  });

  it('when every line is damaged, then ten mistakes are enough', () => {
    expect(mistakesIn(fileOf(...Array(1000).fill('junk')), hex).length).toBe(10);
  });
});

describe('the words of a refusal', () => {
  it('when a sum does not fit, then place, both sums and the remedy are said', () => {
    try {
      readText(fileOf(':020000001111DD', end), { ...hex, file: 'skerry.hex' });
      expect.unreachable();
    } catch (error) {
      expect((error as Error).message).toBe("skerry.hex:1:14: the record's checksum is DD, but its bytes give DC.");
    }
  });
});
