// Bytes as text: hexadecimal, base64 (RFC 4648) and latin1, in the one spelling the tool uses.

/** `value` in upper-case hexadecimal, at least `digits` long. */
export const hex = (value: number, digits = 2): string => value.toString(16).toUpperCase().padStart(digits, '0');

/** Bytes as upper-case hexadecimal without separators. */
export const hexOfBytes = (bytes: Uint8Array): string =>
  Buffer.from(bytes.buffer, bytes.byteOffset, bytes.length).toString('hex').toUpperCase();

/** Bytes as base64 with padding (RFC 4648 section 4). */
export const base64OfBytes = (bytes: Uint8Array): string =>
  Buffer.from(bytes.buffer, bytes.byteOffset, bytes.length).toString('base64');

const strictBase64 = /^(?:[A-Za-z0-9+/]{4})*(?:[A-Za-z0-9+/]{2}==|[A-Za-z0-9+/]{3}=)?$/;

/** The bytes of padded base64, or null where the text is not exactly that. */
export const bytesOfBase64 = (text: string): Uint8Array | null => {
  if (!strictBase64.test(text)) return null;
  const bytes = new Uint8Array(Buffer.from(text, 'base64'));
  // Non-zero bits under the padding are another spelling of the same bytes: only one spelling is accepted (RFC 4648 3.5).
  return base64OfBytes(bytes) === text ? bytes : null;
};

/** Text as bytes, one byte a character (latin1), as it travels on the wire. */
export const bytesOfText = (text: string): Uint8Array => new Uint8Array(Buffer.from(text, 'latin1'));

/** Text from outside, safe to show on a terminal: control characters are spelled out. */
export const printable = (text: string): string =>
  text.replace(
    /[\u0000-\u001f\u007f-\u009f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]/g,
    (c) => `\\x${hex(c.charCodeAt(0))}`,
  );
