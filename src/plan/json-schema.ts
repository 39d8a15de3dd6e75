// The JSON Schema of a plan file, for editors that complete and check YAML. Plans that are modules have TypeScript instead.
import { type ConversionConfig, toJsonSchema } from '@valibot/to-json-schema';
import * as v from 'valibot';
import { contentsKinds } from './contents.js';
import { fieldSchema, planSchema, romSchema } from './plan-schema.js';
import { nameSchema } from './schema-words.js';

type Json = { [key: string]: Json } | Json[] | string | number | boolean | null;
type JsonObject = { [key: string]: Json };

const config: ConversionConfig = { errorMode: 'ignore', typeMode: 'input' };

const convert = (schema: v.GenericSchema<never, unknown> | v.GenericSchema): JsonObject => {
  const { $schema, ...rest } = toJsonSchema(schema as v.GenericSchema, config) as JsonObject;
  return rest;
};

/** Where any kind of contents may stand: the one definition, named, because banks hold contents themselves. */
const oneContents: JsonObject = { $ref: '#/$defs/contents' };
/** One of them, or a list: several side by side. */
const anyContents: JsonObject = { anyOf: [oneContents, { type: 'array', minItems: 1, items: oneContents }] };

/** The schema as plain JSON, draft-07. */
export function planJsonSchema(): JsonObject {
  const plan = convert(
    v.strictObject({ ...planSchema.entries, fields: v.optional(v.record(nameSchema, fieldSchema)) }),
  );
  const rom = convert(romSchema);
  setProperty(rom, 'contents', anyContents);
  setProperty(plan, 'contents', anyContents);
  setProperty(plan, 'roms', { type: 'object', minProperties: 1, additionalProperties: rom });
  const kinds = contentsKinds.filter(({ kind }) => kind !== 'function').map((k) => convert(k.schema));
  for (const kind of kinds) nestContents(kind);
  return {
    $schema: 'http://json-schema.org/draft-07/schema#',
    title: 'A romkiln plan',
    ...plan,
    $defs: { contents: { oneOf: kinds } },
  };
}

function setProperty(schema: JsonObject, name: string, value: Json): void {
  (schema.properties as JsonObject)[name] = value;
}

/** Contents inside contents were checked by kind, not by schema; here they get their name back. */
function nestContents(value: Json): void {
  if (typeof value !== 'object' || value === null) return;
  const { properties } = value as { properties?: JsonObject };
  if (properties && 'contents' in properties) properties.contents = anyContents;
  for (const inner of Object.values(value)) nestContents(inner);
}
