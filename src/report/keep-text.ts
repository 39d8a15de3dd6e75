// The keep as text: one line a record, or one record with its first bytes.
import { parts } from '../chip/chip-table.js';
import { hex, printable } from '../ground/byte-text.js';
import { crc32IsoHdlc } from '../ground/check-sums.js';
import type { Run } from '../job/blocks.js';
import type { KeptRecord } from '../job/keep.js';
import { columns } from './columns.js';
import { addressText, countOf, timeOfDay } from './quantity.js';

const cellsOf = (record: KeptRecord): number => record.runs.reduce((sum, r) => sum + r.count, 0);

export function keptListText(records: readonly KeptRecord[], damaged: readonly string[]): string {
  const broken = damaged.map((path) => `Damaged, not listed: ${printable(path)}\n`).join('');
  if (records.length === 0) return `${broken}The keep is empty: nothing has been overwritten yet.\n`;
  const rows = records.map((r) =>
    [r.id, timeOfDay(r.time), r.chip, r.label ?? '-', String(cellsOf(r)), r.port, r.image].map(printable),
  );
  return (
    broken +
    columns(['id', 'time (UTC)', 'chip', 'label', 'bytes', 'port', 'overwritten by'], rows, [
      'left',
      'left',
      'left',
      'left',
      'right',
    ])
  );
}

export function keptText(record: KeptRecord, runs: readonly Run[], file: string | null): string {
  const end = Math.max(...runs.map((r) => r.from + r.bytes.length));
  const cells = parts.find((p) => p.name === record.chip)?.cells ?? end;
  const rows = runs.map((r) => [
    `${addressText(r.from, cells)}..${addressText(r.from + r.bytes.length - 1, cells)}`,
    String(r.bytes.length),
    hex(crc32IsoHdlc(r.bytes), 8),
    [...r.bytes.subarray(0, 8)].map((b) => hex(b)).join(' ') + (r.bytes.length > 8 ? ' ...' : ''),
  ]);
  const head = `${record.id}: ${countOf(cellsOf(record), 'byte')} of ${printable(record.chip)}, overwritten ${printable(timeOfDay(record.time))} by ${printable(record.image)}\n`;
  const tail = file === null ? '' : `Written to ${printable(file)}.\n`;
  return `${head}${columns(['addresses', 'bytes', 'CRC-32', 'begins'], rows, ['left', 'right'])}${tail}"romkiln restore ${record.id}" writes them back.\n`;
}
