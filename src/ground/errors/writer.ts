// Errors of the room writer: code, exit, sentence, note.
export const writerErrors = {};
