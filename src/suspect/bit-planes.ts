// A ROM cut into one bit plane a data line, 32 cells a word, and the counts on them that no permutation of lines can change.

export interface BitPlanes {
  readonly addressLines: number;
  /** One plane a data line; undefined cells are 0. */
  readonly data: readonly Int32Array[];
  readonly defined: Int32Array;
}

export const popcount = (word: number): number => {
  let v = word - ((word >>> 1) & 0x55555555);
  v = (v & 0x33333333) + ((v >>> 2) & 0x33333333);
  return Math.imul((v + (v >>> 4)) & 0x0f0f0f0f, 0x01010101) >>> 24;
};

/** In a word of 32 cells: those whose address has bit i, for the five lowest lines. */
const inWord = [0xaaaaaaaa, 0xcccccccc, 0xf0f0f0f0, 0xff00ff00, 0xffff0000] as const;

export const bitPlanes = (bytes: Uint8Array, defined: Uint8Array, addressLines: number): BitPlanes => {
  const words = Math.ceil(bytes.length / 32);
  const data = Array.from({ length: 8 }, () => new Int32Array(words));
  const known = new Int32Array(words);
  const word = new Int32Array(8);
  for (let w = 0; w < words; w++) {
    word.fill(0);
    let knownWord = 0;
    for (let bit = 0; bit < 32; bit++) {
      const a = (w << 5) | bit;
      if (defined[a] !== 1) continue;
      knownWord |= 1 << bit;
      const byte = bytes[a]!;
      for (let j = 0; j < 8; j++) word[j]! |= ((byte >> j) & 1) << bit;
    }
    for (let j = 0; j < 8; j++) data[j]![w] = word[j]!;
    known[w] = knownWord;
  }
  return { addressLines, data, defined: known };
};

/** Counts of one address line: how often each data bit is 1 where the line is high, and how often moving the line moves the bit. */
export interface LineCounts {
  readonly high: readonly number[];
  readonly moved: readonly number[];
  /** Cells with the line high that are undefined, and pairs of neighbours of which at least one is: what the counts may lack. */
  readonly highUndefined: number;
  readonly movedUndefined: number;
}

/** Cells where `line` is high, in word `w`. */
const highMask = (line: number, w: number): number => {
  const mask = inWord[line];
  if (mask !== undefined) return mask | 0;
  return (w >> (line - 5)) & 1 ? -1 : 0;
};

const countHigh = (plane: Int32Array, line: number): number => {
  let count = 0;
  for (let w = 0; w < plane.length; w++) count += popcount(plane[w]! & highMask(line, w));
  return count;
};

/** Pairs of neighbours across `line`, both defined (`known`), in which the bit of `plane` differs; without a plane, all such pairs. */
const countPairs = (plane: Int32Array | null, known: Int32Array, line: number): number => {
  let count = 0;
  if (line < 5) {
    const shift = 1 << line;
    const low = ~inWord[line as 0 | 1 | 2 | 3 | 4];
    for (let w = 0; w < known.length; w++) {
      const both = known[w]! & (known[w]! >>> shift) & low;
      count += popcount(plane === null ? both : (plane[w]! ^ (plane[w]! >>> shift)) & both);
    }
    return count;
  }
  const step = 1 << (line - 5);
  for (let w = 0; w < known.length; w++) {
    if (w & step) continue;
    const both = known[w]! & known[w | step]!;
    count += popcount(plane === null ? both : (plane[w]! ^ plane[w | step]!) & both);
  }
  return count;
};

export const lineCounts = (planes: BitPlanes): LineCounts[] => {
  const half = 2 ** (planes.addressLines - 1);
  return Array.from({ length: planes.addressLines }, (_, line) => ({
    high: planes.data.map((plane) => countHigh(plane, line)),
    moved: planes.data.map((plane) => countPairs(plane, planes.defined, line)),
    highUndefined: half - countHigh(planes.defined, line),
    movedUndefined: half - countPairs(null, planes.defined, line),
  }));
};

/** How often each data bit is 1 among the addresses with w bits set, for every w: rows of 8; and how many of them are undefined. */
export const levelCounts = (
  bytes: Uint8Array,
  defined: Uint8Array,
  addressLines: number,
): { ones: Int32Array; undefinedCells: Int32Array } => {
  const seen = new Int32Array((addressLines + 1) * 256);
  const undefinedCells = new Int32Array(addressLines + 1);
  for (let a = 0; a < bytes.length; a++) {
    const level = popcount(a);
    if (defined[a] === 1) seen[level * 256 + bytes[a]!]!++;
    else undefinedCells[level]!++;
  }
  const ones = new Int32Array((addressLines + 1) * 8);
  for (let level = 0; level <= addressLines; level++)
    for (let byte = 1; byte < 256; byte++) {
      const count = seen[level * 256 + byte]!;
      if (count === 0) continue;
      for (let j = 0; j < 8; j++) if ((byte >> j) & 1) ones[level * 8 + j]! += count;
    }
  return { ones, undefinedCells };
};
