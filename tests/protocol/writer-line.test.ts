// The `writer` line: what is enough of it, and what is not.
import { expect, test } from 'vitest';
import { firmwareLimits } from '../../src/protocol/limits.js';
import { fieldsOfWriter, writerOfFields } from '../../src/protocol/writer-line.js';

const writer = { ...firmwareLimits, nonce: 0x5e21 };

test('when all keys are there then their order does not matter and unknown ones are passed over', () => {
  const fields = fieldsOfWriter(writer);
  expect(writerOfFields(fields)).toEqual(writer);
  expect(writerOfFields([...fields, 'mood=fine', 'odd=a=b', 'x=1'].reverse())).toEqual(writer);
});

test('when any one key is missing, doubled or malformed then the line is no good', () => {
  const fields = fieldsOfWriter(writer);
  for (const field of fields) {
    const key = field.slice(0, field.indexOf('='));
    const others = fields.filter((other) => other !== field);
    expect(writerOfFields(others), `without ${key}`).toBeNull();
    expect(writerOfFields([...fields, field]), `${key} twice`).toBeNull();
    if (key !== 'build') expect(writerOfFields([...others, `${key}=g`]), `${key} malformed`).toBeNull();
  }
  expect(writerOfFields([...fields, 'word'])).toBeNull();
  expect(writerOfFields([...fields, '=word'])).toBeNull();
});

test('when the version is another then that alone is enough', () => {
  expect(writerOfFields(['version=0', 'nonce=5'])).toMatchObject({
    version: 0,
    nonce: 5,
    line: 0,
    rates: [],
    build: '',
  });
  expect(writerOfFields(['nonce=5'])).toBeNull();
});
