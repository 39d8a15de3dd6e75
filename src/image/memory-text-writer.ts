// Memory text for Verilog's $readmemh (IEEE Std 1364-2005, clause 17.2.9), written: an address before every run of bytes.
import { hex } from '../ground/byte-text.js';

/** Bytes on one line. */
const lineBytes = 16;

/** Memory text of blocks [address, bytes] in order of address, one byte a word. */
export function memoryTextOf(blocks: readonly (readonly [number, Uint8Array])[]): string {
  const lines: string[] = [];
  for (const [address, bytes] of blocks) {
    lines.push(`@${hex(address, 4)}`);
    for (let i = 0; i < bytes.length; i += lineBytes) {
      lines.push([...bytes.subarray(i, i + lineBytes)].map((byte) => hex(byte)).join(' '));
    }
  }
  return lines.map((line) => `${line}\n`).join('');
}
