// Errors of the room cli: code, exit, sentence, note.
export const cliErrors = {};
