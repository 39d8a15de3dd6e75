// Things in keep and book that the tool did not write: cut short, forged, strange.
import type { DamageKind } from './trouble.js';

const utf8 = (text: string): Uint8Array => new Uint8Array(Buffer.from(text, 'utf8'));

const record = {
  id: 'aaaaaaaaaaaa',
  time: '2026-01-01T00:00:00.000Z',
  chip: 'AT28C64',
  label: 'U7',
  port: 'bench',
  image: 'old.hex',
  digest: '0'.repeat(64),
  runs: [{ from: 0, count: 4096 }],
};

const records: Readonly<Record<Exclude<DamageKind, 'torn line' | 'strange line'>, string>> = {
  'cut record': JSON.stringify(record).slice(0, 90),
  'strange record': JSON.stringify({ ...record, time: 'soon', runs: 'all', label: { toString: 1 } }),
  // As a record should be, but nobody kept these bytes, and its name leads elsewhere.
  'forged record': JSON.stringify({ ...record, digest: '../../book.jsonl' }),
};

const lines: Readonly<Record<'torn line' | 'strange line', string>> = {
  'torn line': '{"time":"2026-01-01T00:00:00.000Z","command":"burn","la',
  'strange line': '{"time":7,"command":["burn"],"outcome":{"kind":"\\u001b[2J"}}\n[[[[[\n\n',
};

/** Puts it there, and names the files that hold nothing true. */
export function plantDamage(stored: Map<string, Uint8Array>, dataFolder: string, how: DamageKind): readonly string[] {
  if (how === 'torn line' || how === 'strange line') {
    stored.set(`${dataFolder}/book.jsonl`, utf8(lines[how]));
    return [];
  }
  const path = `${dataFolder}/keep/records/${record.id}.json`;
  stored.set(path, utf8(records[how]));
  return [path];
}
