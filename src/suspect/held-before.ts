// What cells held before they were burned.

/** The bytes of the whole chip, or FF in all cells. */
export type Supposed = Uint8Array | 'erased';

export const heldBefore = (before: Supposed, cell: number): number =>
  before === 'erased' ? 0xff : (before[cell] ?? 0xff);
