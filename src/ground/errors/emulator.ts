// Errors of the room emulator: code, exit, sentence, note.
export const emulatorErrors = {};
