// Inputs nearly right: bytes of good ones changed, cut, doubled, joined, and sprinkled with the words that a reader knows.
import type { Random } from '../../src/ground/random.js';

/** No input grows beyond this; what large ones do is measured apart. */
const bytesMost = 16_384;

/** Bytes and texts at which readers of text trip. */
const oddities: readonly string[] = [
  ...['\0', '\n', '\r', '\r\n', '\t', ' ', '"', "'", '\\', '\x1b[31m', '\x7f', '\u0085', '\u2028', '\ufeff', '\xff'],
  ...['-1', '0', '1', '255', '256', '65535', '65536', '2147483648', '4294967295', '4294967296', '1e309', 'NaN', '-0'],
  ...['0x', '0xFFFFFFFF', '9007199254740993', '99999999999999999999', 'null', 'true', '[]', '{}', '__proto__', '🎚'],
];

const latin1 = (text: string): Uint8Array => new Uint8Array(Buffer.from(text, 'utf8'));
const joined = (...parts: readonly Uint8Array[]): Uint8Array => new Uint8Array(Buffer.concat(parts));

function spliced(random: Random, input: Uint8Array, insert: Uint8Array): Uint8Array {
  const at = random.below(input.length + 1);
  return joined(input.subarray(0, at), insert, input.subarray(at + (random.chance(0.5) ? insert.length : 0)));
}

/** A stretch of the input, short rather than long. */
function stretch(random: Random, input: Uint8Array): [number, number] {
  const from = random.below(input.length + 1);
  const length = random.below(1 + random.below(Math.min(input.length, 400) + 1));
  return [from, Math.min(input.length, from + length)];
}

function changedOnce(
  random: Random,
  input: Uint8Array,
  corpus: readonly Uint8Array[],
  words: readonly string[],
): Uint8Array {
  const [from, to] = stretch(random, input);
  switch (random.below(9)) {
    case 0: {
      const flipped = input.slice();
      if (flipped.length > 0) flipped[random.below(flipped.length)]! ^= 1 << random.below(8);
      return flipped;
    }
    case 1: {
      const changed = input.slice();
      if (changed.length > 0) changed[random.below(changed.length)] = random.below(256);
      return changed;
    }
    case 2:
      return joined(input.subarray(0, from), input.subarray(to));
    case 3:
      return joined(input.subarray(0, to), input.subarray(from));
    case 4: {
      // The same stretch many times, as deep nesting and long lists are made of.
      const times = 1 + random.below(random.chance(0.1) ? 400 : 6);
      return joined(
        input.subarray(0, to),
        ...new Array<Uint8Array>(times).fill(input.subarray(from, to)),
        input.subarray(to),
      );
    }
    case 5:
      return spliced(random, input, latin1(random.pick(oddities)));
    case 6:
      return words.length === 0 ? input : spliced(random, input, latin1(random.pick(words)));
    case 7: {
      const other = random.pick(corpus);
      return joined(input.subarray(0, from), other.subarray(random.below(other.length + 1)));
    }
    default: {
      // A number becomes another one.
      const text = Buffer.from(input).toString('latin1');
      const numbers = [...text.matchAll(/\d+/g)];
      if (numbers.length === 0) return input;
      const { index, 0: old } = random.pick(numbers);
      return new Uint8Array(
        Buffer.from(text.slice(0, index) + random.pick(oddities) + text.slice(index + old.length), 'latin1'),
      );
    }
  }
}

/** One of the corpus, changed once or a few times. */
export function mutated(random: Random, corpus: readonly Uint8Array[], words: readonly string[]): Uint8Array {
  let input = random.pick(corpus);
  for (let times = 1 + random.below(1 + random.below(6)); times > 0; times--)
    input = changedOnce(random, input, corpus, words).subarray(0, bytesMost);
  return input;
}
