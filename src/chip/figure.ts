// Two short words for the rows of the chip table: a figure that was read in its source, and one known from memory of it.
import type { Part, Sourced } from './part.js';

/** A figure that was read in the named document. */
export const read = <Value>(value: Value, source: string): Sourced<Value> => ({ value, source, known: 'read' });

/** A figure from memory of the named document, not read again: compare it with the document before trusting it. */
export const memory = <Value>(value: Value, source: string): Sourced<Value> => ({ value, source, known: 'memory' });

/** A row of a real part: everything but the list of members, which only families have. */
export type RealPart = Omit<Part, 'members'>;
