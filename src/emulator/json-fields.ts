// Reads the fields of one JSON object strictly: every field once, of its type, in its range, and none besides.

export type JsonValue = null | boolean | number | string | readonly JsonValue[] | { readonly [key: string]: JsonValue };

export interface JsonFields {
  text(key: string): string;
  flag(key: string): boolean;
  number(key: string, least: number, most: number): number;
  whole(key: string, least: number, most: number): number;
  /** A list of texts, of exactly `count` where that is a number. */
  texts(key: string, count: number | null): readonly string[];
  /** Refuses fields that were not asked for. */
  nothingElse(): void;
}

/** `bad` must throw; it is told what is wrong in a half-sentence. */
export function fieldsOf(json: JsonValue, bad: (problem: string) => never): JsonFields {
  if (typeof json !== 'object' || json === null || Array.isArray(json)) return bad('it is no JSON object');
  const object = json as { readonly [key: string]: JsonValue };
  const asked = new Set<string>();
  const field = (key: string): JsonValue => {
    asked.add(key);
    return Object.hasOwn(object, key) ? object[key]! : bad(`the field "${key}" is missing`);
  };
  const number = (key: string, least: number, most: number): number => {
    const value = field(key);
    return typeof value === 'number' && value >= least && value <= most
      ? value
      : bad(`"${key}" is no number from ${least} to ${most}`);
  };
  return {
    number,
    text(key) {
      const value = field(key);
      return typeof value === 'string' ? value : bad(`"${key}" is no text`);
    },
    flag(key) {
      const value = field(key);
      return typeof value === 'boolean' ? value : bad(`"${key}" is neither true nor false`);
    },
    whole(key, least, most) {
      const value = number(key, least, most);
      return Number.isInteger(value) ? value : bad(`"${key}" is no whole number`);
    },
    texts(key, count) {
      const value = field(key);
      if (!Array.isArray(value) || !value.every((v) => typeof v === 'string'))
        return bad(`"${key}" is no list of texts`);
      if (count !== null && value.length !== count) return bad(`"${key}" has ${value.length} rows, not ${count}`);
      return value as string[];
    },
    nothingElse() {
      const surplus = Object.keys(object).find((key) => !asked.has(key));
      if (surplus !== undefined) bad(`the field "${surplus}" is unknown`);
    },
  };
}
