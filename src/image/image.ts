// The wanted bytes of a ROM, and for every byte whether it is defined at all.

export interface Image {
  /** A name for people: the file or the ROM of a plan it came from. */
  readonly name: string;
  /** One byte a cell from address 0; what an undefined cell holds here means nothing. */
  readonly bytes: Uint8Array;
  /** One flag a cell: 1 where the byte is defined. Same length as `bytes`. */
  readonly defined: Uint8Array;
}

/** An image in which every byte is defined. */
export const imageOfBytes = (name: string, bytes: Uint8Array): Image => ({
  name,
  bytes,
  defined: new Uint8Array(bytes.length).fill(1),
});

/** An image of so many cells in which these bytes are defined and nothing else. */
export function imageOfRuns(
  name: string,
  cells: number,
  runs: Iterable<{ readonly from: number; readonly bytes: Uint8Array }>,
): Image {
  const image = { name, bytes: new Uint8Array(cells), defined: new Uint8Array(cells) };
  for (const { from, bytes } of runs) {
    image.bytes.set(bytes, from);
    image.defined.fill(1, from, from + bytes.length);
  }
  return image;
}
