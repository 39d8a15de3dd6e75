// Errors of the room suspect: code, exit, sentence, note.
export const suspectErrors = {};
