// What cells held before they were burned.

/** The bytes of the whole chip; null when they are not known and erased cells (FF) are supposed. */
export type Before = Uint8Array | null;

export const heldBefore = (before: Before, cell: number): number => (before === null ? 0xff : (before[cell] ?? 0xff));
