// The promises that every simulated run is held to, by number, each in the words of README.md.
export const promiseTable: readonly { readonly promise: number; readonly says: string }[] = [
  { promise: 1, says: 'every defined byte of the image was read back from the chip, over the link, equal' },
  { promise: 2, says: 'Bytes that an image does not define are not changed.' },
  { promise: 3, says: 'An error is one sentence with the facts and one that says what would have been right.' },
  { promise: 4, says: 'A burn that stops anywhere can be run again' },
  { promise: 5, says: 'What was in a chip is in the keep, on the disk, before the first write is sent' },
  { promise: 6, says: '`romkiln book` lists it as `cut off`' },
  { promise: 7, says: '`burn` sends no protection code unless asked.' },
  { promise: 8, says: 'Equal bytes are never written, so they cost no wear.' },
];
