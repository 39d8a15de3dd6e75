// The keep: what was in a chip before it was overwritten, content-addressed, on the disk before the write is sent.
import { createHash } from 'node:crypto';
import { ToolError } from '../ground/errors.js';
import type { Files } from '../ground/files.js';
import type { Run } from './blocks.js';

/** What a burn is about to do, noted before its first write. */
export interface NotedBurn {
  readonly command: string;
  /** Pages that it may write at most, as the book has them, each as often as it may be written: cells where the chip has no page mode. */
  readonly pages: string;
  readonly pageBytes: number;
}

/** One overwriting of one chip. The bytes of all runs stand one after the other in the object named by `digest`. */
export interface KeptRecord {
  readonly id: string;
  /** ISO 8601, UTC. */
  readonly time: string;
  readonly chip: string;
  readonly label: string | null;
  readonly port: string;
  /** What the bytes gave way to. */
  readonly image: string;
  /** SHA-256 of the object, hexadecimal. */
  readonly digest: string;
  /** None where the burn was asked to keep nothing: then the record only notes the burn. */
  readonly runs: readonly { readonly from: number; readonly count: number }[];
  /** Of a burn, whose line in the book names this record once it has ended; other commands have no line, nor had burns before. */
  readonly burn?: NotedBurn;
}

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

/** The record in a file, or null where the text is not one that the keep wrote: its id is the digest of the rest. */
function recordOf(text: string): KeptRecord | null {
  try {
    const { id, ...facts } = JSON.parse(text) as KeptRecord;
    return idOf(facts) === id ? { id, ...facts } : null;
  } catch {
    return null;
  }
}

export const hasBytes = (record: KeptRecord): boolean => record.runs.length > 0;

/** The keep in a folder: objects/<digest> holds bytes, records/<id>.json says where they were. */
export function openKeep(files: Files, folder: string): Keep {
  const objects = `${folder}/objects`;
  const records = `${folder}/records`;
  const list: Keep['list'] = () => {
    const found = files
      .list(records)
      .filter((name) => name.endsWith('.json'))
      .map((name) => ({ name, record: recordOf(Buffer.from(files.read(`${records}/${name}`)).toString('utf8')) }));
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
      const there = files.readIfThere(`${objects}/${digest}`);
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
      const bytes = files.readIfThere(path);
      if (bytes === null || sha256(bytes) !== record.digest)
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
