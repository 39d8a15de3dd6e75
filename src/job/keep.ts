// The keep: what was in a chip before it was overwritten, content-addressed, on the disk before the write is sent.
import { createHash } from 'node:crypto';
import type { Files } from '../ground/files.js';
import type { Run } from './blocks.js';

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
  readonly runs: readonly { readonly from: number; readonly count: number }[];
}

export interface Keep {
  /** Stores the runs and returns the record; when it returns, bytes and record are on the disk. */
  store(about: Omit<KeptRecord, 'id' | 'digest' | 'runs'>, runs: readonly Run[]): KeptRecord;
}

const sha256 = (data: Uint8Array | string): string => createHash('sha256').update(data).digest('hex');

/** The keep in a folder: objects/<digest> holds bytes, records/<id>.json says where they were. */
export function openKeep(files: Files, folder: string): Keep {
  const objects = `${folder}/objects`;
  const records = `${folder}/records`;
  return {
    store(about, runs) {
      files.makeFolder(objects);
      files.makeFolder(records);
      const bytes = Buffer.concat(runs.map((r) => r.bytes));
      const digest = sha256(bytes);
      // The same bytes are stored once; a file of the right name and length is whole, since it was renamed into place.
      if (files.readIfThere(`${objects}/${digest}`)?.length !== bytes.length)
        files.replace(`${objects}/${digest}`, bytes, { synced: true });
      const facts = { ...about, digest, runs: runs.map((r) => ({ from: r.from, count: r.bytes.length })) };
      const record: KeptRecord = { id: sha256(JSON.stringify(facts)).slice(0, 12), ...facts };
      files.replace(`${records}/${record.id}.json`, `${JSON.stringify(record, null, 2)}\n`, { synced: true });
      return record;
    },
  };
}
