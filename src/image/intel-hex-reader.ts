// Intel HEX, read strictly: it decides what the file says; the intel-hex package decodes the same text and must agree.
// Grammar and addresses: Intel, Hexadecimal Object File Format Specification, Revision A, 6 January 1988.
import { type CellBounds, CellMap } from './cell-map.js';
import type { Image } from './image.js';
import { agreeWithIntelHexPackage } from './intel-hex-agreement.js';
import type { ReadingLog } from './reading-log.js';
import { type RecordForm, type RecordLine, RecordScan } from './record-scan.js';

const form: RecordForm = {
  markLength: 1,
  bytesMin: 5,
  badMark: (mark) => (mark === ':' ? null : { column: 1, wanted: 'the ":" that begins a record' }),
};

const columns = { length: 2, address: 4, type: 8, data: 10 };
const endOfAddresses = 2 ** 32;

/** Where the fields of data and address records lead; the last type 02 or 04 record counts (sections 3 to 8). */
class Addressing {
  private upper = 0;
  private segmented = true;

  segment(paragraph: number): void {
    this.upper = paragraph * 16;
    this.segmented = true;
  }

  linear(upper: number): void {
    this.upper = upper * 65536;
    this.segmented = false;
  }

  /**
   * The address of a record's first byte, how many bytes fit before the addresses wrap, and where the rest goes: to the start
   * of the 64 KiB segment, or from 4 GiB to 0.
   */
  of(offset: number): { start: number; fits: number; rest: number } {
    const start = this.upper + offset;
    return this.segmented
      ? { start, fits: 0x10000 - offset, rest: this.upper }
      : { start, fits: endOfAddresses - start, rest: 0 };
  }
}

/** Reads Intel HEX. Mistakes go to the log; the image counts only when the log stays clean. */
export function readIntelHex(text: Uint8Array, file: string, bounds: CellBounds, log: ReadingLog): Image {
  const cells = new CellMap(bounds, log);
  const addressing = new Addressing();
  let highest = 0;

  const data = (offset: number, bytes: Uint8Array, line: number): void => {
    const { start, fits, rest } = addressing.of(offset);
    const where = { file, line, addressColumn: columns.address, dataColumn: columns.data };
    highest = Math.max(highest, start + Math.max(bytes.length, 1) - 1);
    cells.put(start, bytes.subarray(0, fits), where);
    if (bytes.length <= fits) return;
    const place = { file, line, column: columns.address };
    log.warnAt(
      'segment-wrap',
      place,
      (n) => `${n === 1 ? 'a record wraps' : `${n} records wrap`} to the start of the segment`,
    );
    cells.put(rest, bytes.subarray(fits), { ...where, dataColumn: columns.data + 2 * fits });
  };

  new RecordScan(text, file, form, log).run((record) => {
    const fields = fieldsOf(record, file, log);
    if (!fields) return 'more';
    const { offset, type, info } = fields;
    if (type === 0) data(offset, info, record.line);
    else if (type === 2) addressing.segment(word(info));
    else if (type === 4) addressing.linear(word(info));
    else if (type === 1 && offset !== 0) {
      const place = { file, line: record.line, column: columns.address };
      log.warnAt('end-address', place, () => 'the end record carries an address, which means nothing');
    }
    return type === 1 ? 'last' : 'more';
  });

  const image = cells.image(file);
  // Where the two readers are known to part, this one follows the specification alone.
  const alone = log.has('segment-wrap') || log.has('blank-line') || highest > 0x7fffffff;
  if (log.clean && !alone) agreeWithIntelHexPackage(text, file, image, bounds.base);
  return image;
}

const word = (bytes: Uint8Array, at = 0): number => bytes[at]! * 256 + bytes[at + 1]!;

/** Bytes that each type but data must have. */
const infoLengths: Readonly<Record<number, number>> = { 1: 0, 2: 2, 3: 4, 4: 2, 5: 4 };

/** The fields of one record, or null with the mistake in the log. */
function fieldsOf({ line, bytes, sum }: RecordLine, file: string, log: ReadingLog) {
  const place = (column: number) => ({ file, line, column });
  const said = bytes[0]!;
  const found = bytes.length - 5;
  if (said !== found)
    return log.mistake('image.record-length', { place: place(columns.length), said, found, counts: 'data' });
  const computed = -sum & 0xff;
  const last = bytes[bytes.length - 1]!;
  if (computed !== last) {
    return log.mistake('image.record-sum', { place: place(2 * bytes.length), said: last, computed });
  }
  const offset = word(bytes, 1);
  const type = bytes[3]!;
  const info = bytes.subarray(4, -1);
  if (type > 5)
    return log.mistake('image.record-type', { place: place(columns.type), type: `${type}`, known: '00 to 05' });
  const wanted = infoLengths[type];
  if (wanted !== undefined && wanted !== found) {
    const problem = `a type 0${type} record with ${found} data bytes`;
    return log.mistake('image.record-field', { place: place(columns.length), problem, right: `It has ${wanted}.` });
  }
  if (type > 1 && offset !== 0) {
    const problem = `a type 0${type} record with an address`;
    return log.mistake('image.record-field', { place: place(columns.address), problem, right: 'Its address is 0000.' });
  }
  return { offset, type, info };
}
