// A short fuzz of every reader: thousands of inputs nearly right, each read or refused in words.
import { describe, expect, it } from 'vitest';
import { fuzzReader, type Reader } from './reader.js';
import { allReaders } from './readers.js';

const readers = await allReaders();
/** Plans and whole command lines take milliseconds each. */
const inputsOf = (reader: Reader): number =>
  ({ plans: 300, 'the command line': 400, 'bench files': 1500 })[reader.name] ?? 4000;

describe('readers of what comes from outside', () => {
  it.each(readers.map((r) => [r.name, r] as const))(
    'when %s are spoiled in many ways then each is read or refused in words',
    async (_, reader) => {
      const count = await fuzzReader(reader, inputsOf(reader), 1);
      expect(count.finds).toEqual([]);
      expect(count.good).toBeGreaterThan(0);
      expect(count.ways).toBeGreaterThan(1);
    },
    120_000,
  );

  it('when a reader has a fault then the fuzz finds it and cuts its input down', async () => {
    const faulty: Reader = {
      name: 'faulty',
      corpus: [new Uint8Array(Buffer.from('one two three'))],
      words: [],
      read(input) {
        if (Buffer.from(input).includes('tt')) throw new TypeError('two of them');
        return '';
      },
    };
    const { finds } = await fuzzReader(faulty, 3000, 1);
    expect(finds.map((f) => Buffer.from(f.input, 'base64').toString())).toEqual(['tt']);
  });
});
