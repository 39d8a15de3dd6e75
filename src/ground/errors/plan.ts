// Errors of the room plan: code, exit, sentence, note.
export const planErrors = {};
