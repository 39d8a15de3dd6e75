// Motorola S-records, written: header, data, count, end.
import { bytesOfText, hexOfBytes } from '../ground/byte-text.js';

/** Data bytes in one record. */
const recordData = 16;
const headerMax = 32;

/** `value` as `count` bytes, high byte first. */
const bigEndian = (value: number, count: number): number[] =>
  Array.from({ length: count }, (_, i) => Math.floor(value / 256 ** (count - 1 - i)) % 256);

/** One record: type digit, count, address, data and the one's complement sum. */
function record(type: number, address: number, addressBytes: number, data: Iterable<number> = []): string {
  const body = [...bigEndian(address, addressBytes), ...data];
  const counted = [body.length + 1, ...body];
  const sum = counted.reduce((total, b) => total + b, 0);
  return `S${type}${hexOfBytes(Uint8Array.of(...counted, ~sum & 0xff))}\n`;
}

/** The last part of a path, as plain ASCII. */
const headerText = (name: string): string =>
  name
    .replace(/^.*[/\\]/, '')
    .replace(/[^\x20-\x7e]/g, '?')
    .slice(0, headerMax);

/** S-records of blocks [address, bytes] in order of address, in the shortest address form that reaches the last byte. */
export function sRecordsOf(name: string, blocks: readonly (readonly [number, Uint8Array])[]): string {
  const lastAddress = blocks.reduce((last, [address, bytes]) => Math.max(last, address + bytes.length - 1), 0);
  const type = lastAddress < 0x10000 ? 1 : lastAddress < 0x1000000 ? 2 : 3;
  const addressBytes = type + 1;
  const records: string[] = [];
  for (const [address, bytes] of blocks) {
    for (let i = 0; i < bytes.length; i += recordData) {
      records.push(record(type, address + i, addressBytes, bytes.subarray(i, i + recordData)));
    }
  }
  const count = records.length < 0x10000 ? record(5, records.length, 2) : record(6, records.length, 3);
  return [record(0, 0, 2, bytesOfText(headerText(name))), ...records, count, record(10 - type, 0, addressBytes)].join(
    '',
  );
}
