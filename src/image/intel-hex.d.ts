// The part of the intel-hex package (0.2.0, which brings no types) that is used here.
declare module 'intel-hex' {
  /** `data` begins at `addressOffset` and is filled with FF where the text says nothing. Text as a Buffer or a string. */
  export function parse(text: Buffer | string, bufferSize?: number, addressOffset?: number): { data: Buffer };
}
