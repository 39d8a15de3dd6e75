import { describe, expect, it } from 'vitest';
import { openKeep } from '../../src/job/keep.js';
import { memoryFiles } from '../support/memory-files.js';

const about = {
  time: '2026-01-02T03:04:05.000Z',
  chip: 'AT28C64B',
  label: null,
  port: 'emulated',
  image: 'skerry.hex',
};
const runs = [
  { from: 0, bytes: Uint8Array.of(1, 2, 3) },
  { from: 64, bytes: Uint8Array.of(4) },
];

describe('the keep', () => {
  it('when runs are stored then the same runs come back', () => {
    const keep = openKeep(memoryFiles(), 'keep');
    const record = keep.store(about, runs);
    expect(keep.runsOf(keep.find(record.id))).toEqual(runs);
    expect(keep.find(record.id.slice(0, 4)).time).toBe(about.time);
    expect(keep.list().records).toEqual([record]);
  });

  it('when the same bytes are stored twice then one object holds them', () => {
    const files = memoryFiles();
    const keep = openKeep(files, 'keep');
    keep.store(about, runs);
    keep.store({ ...about, time: '2026-01-02T03:04:06.000Z' }, runs);
    expect(files.list('keep/objects')).toHaveLength(1);
    expect(files.list('keep/records')).toHaveLength(2);
  });

  it('when the disk refuses then the store says so and nothing is claimed', () => {
    const files = memoryFiles();
    files.failing = 'the disk is full';
    expect(() => openKeep(files, 'keep').store(about, runs)).toThrow(/the disk is full/);
    expect(openKeep(files, 'keep').list().records).toEqual([]);
  });

  it('when an object was damaged then it is refused, not restored', () => {
    const files = memoryFiles();
    const keep = openKeep(files, 'keep');
    const record = keep.store(about, runs);
    files.stored.set(`keep/objects/${record.digest}`, Uint8Array.of(1, 2, 3, 5));
    expect(() => keep.runsOf(record)).toThrow(/damaged/);
    // Storing the true bytes again mends the object.
    keep.store(about, runs);
    expect(keep.runsOf(record)).toEqual(runs);
  });

  it('when a record was changed then it is told apart and the others remain', () => {
    const files = memoryFiles();
    const keep = openKeep(files, 'keep');
    const record = keep.store(about, runs);
    files.stored.set('keep/records/ffff.json', Buffer.from(JSON.stringify({ ...record, chip: 'other' })));
    files.stored.set('keep/records/eeee.json', Buffer.from('{'));
    expect(keep.list()).toEqual({ records: [record], damaged: ['keep/records/eeee.json', 'keep/records/ffff.json'] });
  });

  it('when an id names none or several then it says which it could be', () => {
    const keep = openKeep(memoryFiles(), 'keep');
    expect(() => keep.find('')).toThrow(/holds nothing under ""/);
    const ids = [1, 2, 3, 4, 5].map((n) => keep.store({ ...about, label: `U${n}` }, runs).id);
    const facts = (id: string) => {
      try {
        return keep.find(id).id;
      } catch (error) {
        return (error as { facts: { near: string[] } }).facts.near;
      }
    };
    for (const id of ids) expect([facts(id), facts(id.toUpperCase()), id.length]).toEqual([id, id, 12]);
    expect(facts('zz')).toEqual([]);
    expect(facts('')).toEqual([]);
    // Of so many records about a dozen begin with the same digit.
    for (let n = 6; n < 200; n++) keep.store({ ...about, label: `U${n}` }, runs);
    const near = facts(ids[0]![0]!);
    expect(near).toHaveLength(3);
    for (const id of near) expect(id[0]).toBe(ids[0]![0]);
  });

  it('when several were stored then the oldest comes first', () => {
    const keep = openKeep(memoryFiles(), 'keep');
    const days = ['2026-03-01', '2026-01-01', '2026-02-01', '2025-12-31', '2026-01-15'];
    const times = days.map((day) => `${day}T00:00:00.000Z`);
    for (const time of times) keep.store({ ...about, time }, runs);
    expect(keep.list().records.map((r) => r.time)).toEqual([...times].sort());
  });

  it('when something is stored then bytes and record are on the disk before it returns, the bytes first', () => {
    const files = memoryFiles();
    const { replace } = files;
    const synced: [string, boolean | undefined][] = [];
    files.replace = (path, data, options) => {
      synced.push([path.split('/')[1]!, options?.synced]);
      replace(path, data, options);
    };
    const keep = openKeep(files, 'keep');
    keep.store(about, runs);
    // The same bytes once more: only the record is new.
    keep.store({ ...about, label: 'U8' }, runs);
    expect(synced).toEqual([
      ['objects', true],
      ['records', true],
      ['records', true],
    ]);
  });

  it('when bytes are lost then that is said with the file that lacks, and a stray file is no record', () => {
    const files = memoryFiles({ 'keep/records/readme.txt': 'x' });
    const keep = openKeep(files, 'keep');
    const record = keep.store(about, runs);
    expect(keep.list()).toEqual({ records: [record], damaged: [] });
    files.stored.delete(`keep/objects/${record.digest}`);
    const facts = { id: record.id, path: `keep/objects/${record.digest}` };
    expect(() => keep.runsOf(record)).toThrow(expect.objectContaining({ code: 'job.kept-damaged', facts }));
  });
});
