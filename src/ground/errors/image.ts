// Errors of the room image: code, exit, sentence, note.
export const imageErrors = {};
