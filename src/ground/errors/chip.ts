// Errors of the room chip: code, exit, sentence, note.
export const chipErrors = {};
