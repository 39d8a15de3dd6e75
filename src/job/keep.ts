// The keep: what was in a chip before it was overwritten, content-addressed, on the disk before the write is sent.
import { createHash } from 'node:crypto';
import * as v from 'valibot';
import { ToolError } from '../ground/errors.js';
import type { Files } from '../ground/files.js';
import type { Run } from './blocks.js';
import { countSchema, pagesSchema } from './outcome.js';

/** What is about to be written, noted before the first write. */
const notedSchema = v.object({
  command: v.string(),
  /** Pages that it may write at most, as the book has them, each as often as it may be written: cells where the chip has no page mode. */
  pages: pagesSchema,
  pageBytes: v.pipe(countSchema, v.minValue(1)),
});

/** More cells than any part has. */
const cellsMost = 2 ** 24;
/** More stretches than any part has pages. */
const runsMost = 2 ** 16;
const runSchema = v.object({
  from: v.pipe(countSchema, v.maxValue(cellsMost)),
  count: v.pipe(countSchema, v.minValue(1), v.maxValue(cellsMost)),
});

/** One overwriting of one chip. The bytes of all runs stand one after the other in the object named by `digest`. */
const recordSchema = v.object({
  id: v.pipe(v.string(), v.regex(/^[0-9a-f]{12}$/)),
  /** ISO 8601, UTC. */
  time: v.pipe(v.string(), v.isoTimestamp()),
  chip: v.string(),
  label: v.nullable(v.string()),
  port: v.string(),
  /** What the bytes gave way to. */
  image: v.string(),
  /** SHA-256 of the object, hexadecimal. */
  digest: v.pipe(v.string(), v.regex(/^[0-9a-f]{64}$/)),
  /** None where it was asked to keep nothing: then the record only notes the writing. */
  runs: v.pipe(v.array(runSchema), v.maxLength(runsMost)),
  /** Names the writing, whose line in the book names this record once it has ended. */
  burn: v.optional(notedSchema),
});

export type NotedWriting = Readonly<v.InferOutput<typeof notedSchema>>;
export type KeptRecord = Readonly<v.InferOutput<typeof recordSchema>>;

export interface Keep {
  /** Stores the runs and returns the record; when it returns, bytes and record are on the disk. */
  store(about: Omit<KeptRecord, 'id' | 'digest' | 'runs'>, runs: readonly Run[]): KeptRecord;
  /** Every record, oldest first; a damaged one is told apart, the others are still there. */
  list(): { readonly records: readonly KeptRecord[]; readonly damaged: readonly string[] };
  /** The one record with bytes whose id begins so. Throws job.unknown-kept. */
  find(id: string): KeptRecord;
  /** The bytes of a record. Throws job.kept-damaged when they are not what was stored. */
  runsOf(record: KeptRecord): Run[];
}

const sha256 = (data: Uint8Array | string): string => createHash('sha256').update(data).digest('hex');
const idOf = (facts: Omit<KeptRecord, 'id'>): string => sha256(JSON.stringify(facts)).slice(0, 12);

/** A record with everything in it is some hundred bytes, and one of many short runs some hundred thousand. */
const recordMostBytes = 4 * 2 ** 20;

/** The record in a file, or null where it is not one that the keep wrote: its id is the digest of the rest. */
function recordIn(files: Files, folder: string, name: string): KeptRecord | null {
  const path = `${folder}/${name}`;
  try {
    const { bytes, isWhole } = files.readEnd(path, recordMostBytes) ?? { bytes: new Uint8Array(), isWhole: true };
    if (!isWhole) return null;
    const value = JSON.parse(Buffer.from(bytes).toString('utf8')) as KeptRecord;
    if (!v.is(recordSchema, value)) return null;
    const { id, ...facts } = value;
    return idOf(facts) === id && name === `${id}.json` ? value : null;
  } catch {
    // A folder of that name, a file that may not be read, no JSON: whatever is wrong with one record, the others are there.
    return null;
  }
}

export const hasBytes = (record: KeptRecord): boolean => record.runs.length > 0;

/** The bytes of an object; null where they are not there, or not to be read. */
function objectIn(files: Files, path: string): Uint8Array | null {
  try {
    return files.readEnd(path, 2 * cellsMost)?.bytes ?? null;
  } catch (error) {
    if (error instanceof ToolError) return null;
    throw error;
  }
}

/** The keep in a folder: objects/<digest> holds bytes, records/<id>.json says where they were. */
export function openKeep(files: Files, folder: string): Keep {
  const objects = `${folder}/objects`;
  const records = `${folder}/records`;
  const list: Keep['list'] = () => {
    const found = files
      .list(records)
      .filter((name) => name.endsWith('.json'))
      .map((name) => ({ name, record: recordIn(files, records, name) }));
    return {
      records: found.flatMap((f) => f.record ?? []).sort((a, b) => (a.time < b.time ? -1 : 1)),
      damaged: found.filter((f) => f.record === null).map((f) => `${records}/${f.name}`),
    };
  };
  return {
    list,
    store(about, runs) {
      files.makeFolder(objects);
      files.makeFolder(records);
      const bytes = Buffer.concat(runs.map((r) => r.bytes));
      const digest = sha256(bytes);
      const there = objectIn(files, `${objects}/${digest}`);
      if (runs.length > 0 && (there === null || sha256(there) !== digest))
        files.replace(`${objects}/${digest}`, bytes, { synced: true });
      const facts = { ...about, digest, runs: runs.map((r) => ({ from: r.from, count: r.bytes.length })) };
      const record: KeptRecord = { id: idOf(facts), ...facts };
      files.replace(`${records}/${record.id}.json`, `${JSON.stringify(record, null, 2)}\n`, { synced: true });
      return record;
    },
    find(id) {
      const near = list().records.filter((r) => hasBytes(r) && id !== '' && r.id.startsWith(id.toLowerCase()));
      if (near.length !== 1) throw new ToolError('job.unknown-kept', { id, near: near.slice(0, 3).map((r) => r.id) });
      return near[0]!;
    },
    runsOf(record) {
      const path = `${objects}/${record.digest}`;
      const bytes = objectIn(files, path);
      const total = record.runs.reduce((sum, { count }) => sum + count, 0);
      if (bytes === null || bytes.length !== total || sha256(bytes) !== record.digest)
        throw new ToolError('job.kept-damaged', { id: record.id, path });
      let at = 0;
      return record.runs.map(({ from, count }) => {
        const run = { from, bytes: bytes.slice(at, at + count) };
        at += count;
        return run;
      });
    },
  };
}
