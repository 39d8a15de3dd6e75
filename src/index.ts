// The library's public names.
export { findPart, parts } from './chip/chip-table.js';
