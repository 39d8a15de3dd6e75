// Motorola S-records S0 to S9, read strictly.
// Form: Motorola, MC68000 Family Programmer's Reference Manual (M68000PM/AD), appendix C. S6 is a later addition.

import { printable } from '../ground/byte-text.js';
import { addressText } from '../ground/quantity.js';
import { type CellBounds, CellMap } from './cell-map.js';
import type { Image } from './image.js';
import type { ReadingLog } from './reading-log.js';
import { type RecordForm, type RecordLine, RecordScan } from './record-scan.js';

const form: RecordForm = {
  markLength: 2,
  bytesMin: 4,
  badMark: (mark) => {
    if (mark[0] !== 'S') return { column: 1, wanted: 'the "S" that begins a record' };
    return /^S\d$/.test(mark) ? null : { column: 2, wanted: 'the digit of the record type' };
  },
};

const columns = { type: 2, count: 3, address: 5 };

/** Bytes of the address field by type; S4 is not defined. */
const addressBytes: readonly (number | null)[] = [2, 2, 3, 4, null, 2, 3, 4, 3, 2];

/** The end record that belongs to each type of data: S9 to S1, S8 to S2, S7 to S3. */
const endOf = (dataType: number): number => 10 - dataType;

interface Fields {
  readonly type: number;
  readonly address: number;
  readonly data: Uint8Array;
}

/** Reads S-records. Mistakes go to the log; the image counts only when the log stays clean. */
export function readSRecords(text: Uint8Array, file: string, bounds: CellBounds, log: ReadingLog): Image {
  const cells = new CellMap(bounds, log);
  let dataRecords = 0;
  let dataType = 0;

  // The sum does not cover the type: a damaged digit there shows only in that the types of a file do not fit together.
  const oddType = (kind: 'mixed-types' | 'late-header' | 'end-type', line: number, what: string): void =>
    log.warnAt(kind, { file, line, column: columns.type }, () => what);

  const put = ({ type, address, data }: Fields, line: number): void => {
    dataRecords += 1;
    if (dataType !== 0 && type !== dataType)
      oddType('mixed-types', line, `an S${type} record among S${dataType} records`);
    dataType = Math.max(dataType, type);
    const addressColumn = columns.address;
    const last = 256 ** addressBytes[type]! - 1;
    if (address + data.length - 1 > last) {
      const problem = `an S${type} record whose data runs past its last address`;
      const right = `An S${type} record reaches ${addressText(last, last + 1)}; more address bytes reach further.`;
      log.mistake('image.record-field', { place: { file, line, column: addressColumn }, problem, right });
      return;
    }
    cells.put(address, data, { file, line, addressColumn, dataColumn: addressColumn + 2 * addressBytes[type]! });
  };

  new RecordScan(text, file, form, log).run((record) => {
    const fields = fieldsOf(record, file, log);
    if (!fields) return 'more';
    const { type, address: said } = fields;
    const { line } = record;
    if (type === 0 && dataRecords > 0) oddType('late-header', line, 'a header record after data');
    if (type >= 1 && type <= 3) put(fields, line);
    if ((type === 5 || type === 6) && said !== dataRecords) {
      const place = { file, line, column: columns.address };
      log.consequence('image.record-count', { place, said, counted: dataRecords });
    }
    if (type >= 7 && dataType > 0 && type !== endOf(dataType)) {
      oddType('end-type', line, `S${type} ends data of S${dataType} records, where S${endOf(dataType)} belongs`);
    }
    return type >= 7 ? 'last' : 'more';
  });
  return cells.image(file);
}

/** The fields of one record, or null with the mistake in the log. */
function fieldsOf({ line, mark, bytes, sum }: RecordLine, file: string, log: ReadingLog): Fields | null {
  const place = (column: number) => ({ file, line, column });
  const type = Number(mark[1]);
  const width = addressBytes[type];
  if (width === null || width === undefined) {
    const known = 'S0 to S3 and S5 to S9';
    return log.mistake('image.record-type', { place: place(columns.type), type: printable(mark), known });
  }
  const said = bytes[0]!;
  const found = bytes.length - 1;
  if (said !== found) {
    const facts = { place: place(columns.count), said, found, counts: 'address, data and sum' };
    return log.mistake('image.record-length', facts);
  }
  const computed = ~sum & 0xff;
  const last = bytes[bytes.length - 1]!;
  if (computed !== last) {
    return log.mistake('image.record-sum', { place: place(2 * bytes.length + 1), said: last, computed });
  }
  const data = bytes.subarray(1 + width, -1);
  if (bytes.length < width + 2 || (type >= 5 && data.length > 0)) {
    const problem = `an S${type} record with ${found} bytes after its count`;
    const right = `It has ${width + 1}${type < 5 ? ' or more' : ''}: ${width} of the address, the sum${type < 5 ? ', data' : ''}.`;
    return log.mistake('image.record-field', { place: place(columns.count), problem, right });
  }
  const address = bytes.subarray(1, 1 + width).reduce((value, b) => value * 256 + b, 0);
  return { type, address, data };
}
