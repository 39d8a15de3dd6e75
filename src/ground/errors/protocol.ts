// Errors of the room protocol: code, exit, sentence, note.
export const protocolErrors = {};
