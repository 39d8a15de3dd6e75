// Errors of the room job: code, exit, sentence, note.
export const jobErrors = {};
