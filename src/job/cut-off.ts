// Writings that were cut off: noted before their first write, and no line in the book says how they ended.
import type { BookRead } from './book.js';
import { hasBytes, type KeptRecord, type NotedWriting } from './keep.js';
import { isAmong } from './page-list.js';

/** A writing without an end. It may have written all of `pages`, some, or none; or it is still at work. */
export interface CutOff extends NotedWriting {
  /** Of the record that notes it. */
  readonly id: string;
  /** When it began: ISO 8601, UTC. */
  readonly time: string;
  readonly label: string | null;
  readonly chip: string;
  readonly port: string;
  readonly image: string;
  /** What was there before, in the keep; null where it was asked to keep nothing. */
  readonly keptId: string | null;
  /** Nothing ended its doubt since: no burn of the same chip, no restore of its record, no word of the person. */
  readonly isOpen: boolean;
}

/**
 * In the order of `records`. A label names a chip, so a later burn of the label that was verified wherever this one may have
 * written ends the doubt. Without a label nobody knows which chip it was: only a restore of its record does, or a settlement.
 */
export function cutOffs(records: readonly KeptRecord[], { entries, settled, since }: BookRead): CutOff[] {
  const ended = new Set(entries.flatMap((e) => e.record ?? []));
  return records.flatMap((record) => {
    const { burn, id, time, label, chip, port, image } = record;
    // What stood in the part of the book that was not read nobody knows.
    if (!burn || ended.has(id) || (since !== null && time < since)) return [];
    const isDone = entries.some(
      (e) =>
        e.outcome.kind === 'verified' &&
        (e.restores === id ||
          (label !== null && e.label === label && e.time > time && isAmong(burn.pages, e.outcome.pages))),
    );
    const isOpen = !isDone && !settled.has(id);
    return { ...burn, id, time, label, chip, port, image, keptId: hasBytes(record) ? id : null, isOpen };
  });
}
