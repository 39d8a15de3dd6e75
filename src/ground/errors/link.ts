// Errors of the room link: code, exit, sentence, note.
export const linkErrors = {};
