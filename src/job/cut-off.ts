// Burns that were cut off: noted before their first write, and no line in the book says how they ended.
import type { BookEntry } from './book.js';
import { hasBytes, type KeptRecord, type NotedBurn } from './keep.js';

/** A burn without an end. It may have written all of `pages`, some, or none; or it is still at work. */
export interface CutOffBurn extends NotedBurn {
  /** When it began: ISO 8601, UTC. */
  readonly time: string;
  readonly label: string | null;
  readonly chip: string;
  readonly port: string;
  readonly image: string;
  /** What was there before, in the keep; null where it was asked to keep nothing. */
  readonly keptId: string | null;
}

/** In the order of `records`. Records from before burns were noted are left out: nobody knows how those ended. */
export function cutOffBurns(records: readonly KeptRecord[], entries: readonly BookEntry[]): CutOffBurn[] {
  const ended = new Set(entries.flatMap((e) => e.record ?? []));
  return records.flatMap((record) => {
    const { burn, id, time, label, chip, port, image } = record;
    if (!burn || ended.has(id)) return [];
    return { ...burn, time, label, chip, port, image, keptId: hasBytes(record) ? id : null };
  });
}
