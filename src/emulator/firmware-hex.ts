// The writer's firmware: Intel HEX text to flash words. Reads only what avr-objcopy makes, and refuses all else.
import { ToolError } from '../ground/errors.js';

/** Flash of an ATmega328P in bytes (ATmega328P data sheet, features page). */
const flashBytes = 32768;

const recordLine = /^:((?:[0-9A-Fa-f]{2})+)$/;

/**
 * Flash contents (16384 words, low byte first, FFFF where the file says nothing) from the text of a .hex file.
 * Throws emulator.firmware with the line.
 */
export function flashOfHex(text: string): Uint16Array {
  const flash = new Uint8Array(flashBytes).fill(0xff);
  const lines = text.replace(/\r?\n$/, '').split(/\r?\n/);
  let ended = false;
  for (const [index, line] of lines.entries()) {
    const bad = (problem: string): never => {
      throw new ToolError('emulator.firmware', { line: index + 1, problem });
    };
    const record = recordLine.exec(line);
    if (ended) bad('it stands after the end record');
    const bytes = Buffer.from(record?.[1] ?? bad('it is no Intel HEX record'), 'hex');
    const count = bytes[0]!;
    if (bytes.length !== count + 5) bad('its length does not fit its byte count');
    if (bytes.reduce((sum, b) => (sum + b) & 0xff, 0) !== 0) bad('its check sum does not fit');
    const address = bytes.readUInt16BE(1);
    const type = bytes[3]!;
    if (type === 1) ended = true;
    else if (type === 0) {
      if (address + count > flashBytes) bad('it lies beyond the 32 KiB of an ATmega328P');
      flash.set(bytes.subarray(4, 4 + count), address);
      // A program below 64 KiB needs no upper address; avr-objcopy still writes a start address of 0 (types 3 and 5).
    } else if (type !== 3 && type !== 5 && bytes.subarray(4, -1).some((b) => b !== 0)) {
      bad('it sets an upper address, which no ATmega328P has');
    }
  }
  if (!ended) throw new ToolError('emulator.firmware', { line: lines.length, problem: 'no end record follows it' });
  return Uint16Array.from({ length: flashBytes / 2 }, (_, i) => flash[2 * i]! | (flash[2 * i + 1]! << 8));
}
