// The `writer` line: limits as key=value, in the order of firmware-protocol.md section 2.
import { fieldOfNumber, numberOfField } from './field-kind.js';
import { protocolVersion } from './limits.js';
import type { WriterLine } from './message.js';

const numberKeys = {
  version: 'version',
  nonce: 'nonce',
  line: 'line',
  store: 'store',
  slots: 'slots',
  cells: 'cells',
  echo: 'echo',
  silence: 'silenceMs',
} as const;

/** The keys as they stand in the line, in their order. */
export const writerKeys: readonly string[] = [...Object.keys(numberKeys), 'rates', 'build'];

/** The fields of a `writer` line. */
export const fieldsOfWriter = (writer: WriterLine): string[] => [
  ...Object.entries(numberKeys).map(([key, property]) => `${key}=${fieldOfNumber(writer[property])}`),
  `rates=${writer.rates.map(fieldOfNumber).join(',')}`,
  `build=${writer.build}`,
];

/**
 * The limits in a `writer` line's fields, null where one is missing or malformed. Keys may come in any order and unknown
 * ones are passed over, so that a later writer can add some. Of another version only `version` need be there: it is
 * enough to tell the builder which firmware is wanted, and what is missing reads 0 or empty.
 */
export function writerOfFields(fields: readonly string[]): WriterLine | null {
  const texts = new Map<string, string>();
  for (const field of fields) {
    const equals = field.indexOf('=');
    if (equals < 1 || texts.has(field.slice(0, equals))) return null;
    texts.set(field.slice(0, equals), field.slice(equals + 1));
  }
  const ours = numberOfField(texts.get('version') ?? '') === protocolVersion;
  let whole = true;
  const numberAt = (key: string): number => {
    const value = numberOfField(texts.get(key) ?? '');
    if (value === undefined && (ours || key === 'version')) whole = false;
    return value ?? 0;
  };
  const numbers = Object.fromEntries(
    Object.entries(numberKeys).map(([key, property]) => [property, numberAt(key)]),
  ) as Omit<WriterLine, 'rates' | 'build'>;
  const rates = (texts.get('rates') ?? '').split(',').map(numberOfField);
  const build = texts.get('build') ?? '';
  if (ours && (rates.includes(undefined) || build === '')) whole = false;
  return whole ? { ...numbers, rates: rates.filter((rate) => rate !== undefined), build } : null;
}
