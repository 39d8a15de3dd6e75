// The kind of contents `control-by-address`: a microprogram, one word an address.
import type { Compiled, ContentsKind, Fields, OutputValues } from '../table.js';
import { cellInOneLine, differenceInWords, type Lead, listAddresses } from './address-explanation.js';
import { addressFindings } from './address-findings.js';
import { type AddressContents, addressSchema } from './address-schema.js';
import { flagValue } from './flag-settings.js';
import { compileFollowing } from './following-address.js';
import { assemble } from './microprogram.js';

/**
 * Control store by microaddress. Inputs of its table: the address field, then the fields that dispatch tables go by.
 * Outputs: the fields of the word in their order, each dispatch table, and the following address where it is asked for.
 */
export const controlByAddress: ContentsKind<AddressContents> = {
  kind: 'control-by-address',
  schema: addressSchema,
  compile: compileControlByAddress,
};

function compileControlByAddress(contents: AddressContents, plan: Fields): Compiled {
  const { program, findings } = assemble(contents, plan);
  if (program === null) return { table: null, findings };
  const { address, fields, dispatches } = program;
  const selectors = [...new Map(dispatches.map((d) => [d.by.name, d.by])).values()];
  const selectorOf = dispatches.map((d) => 1 + selectors.findIndex((s) => s.name === d.by.name));
  const following = contents.following === undefined ? null : compileFollowing(contents.following, program);
  const unsaid: OutputValues = fields.map(() => undefined);
  const words: OutputValues[] = Array.from(
    { length: 2 ** address.bits },
    (_, at) => program.rows.get(at)?.values ?? program.unused ?? unsaid,
  );
  const dispatched = (index: number, inputs: readonly number[]): number | undefined =>
    dispatches[index]!.targets[inputs[selectorOf[index]!]!];
  const leadsAt = (inputs: readonly number[]): readonly Lead[] => {
    const leads: Lead[] = dispatches.map((d, i) => ({ name: d.name, to: dispatched(i, inputs) }));
    if (following === null) return leads;
    const to = following.at(inputs[0]!, (name) => leads.find((lead) => lead.name === name)?.to);
    return [...leads, { name: following.name, to }];
  };
  const isPlain = dispatches.length === 0 && following === null;
  const selection = (inputs: readonly number[]): string =>
    selectors.map((field, i) => flagValue(field, inputs[i + 1]!)).join(' ') || 'next';
  return {
    findings: [...findings, ...(following?.findings ?? [])],
    table: {
      inputs: new Map([address, ...selectors].map((field) => [field.name, field.bits])),
      outputs: new Map([
        ...fields.map((field) => [field.name, field.bits] as const),
        ...dispatches.map((d) => [d.name, address.bits] as const),
        ...(contents.following === undefined ? [] : [[contents.following, address.bits] as const]),
      ]),
      activeLow: new Set(fields.filter((field) => field.activeLow).map((field) => field.name)),
      at: (inputs) => {
        const word = words[inputs[0]!]!;
        return isPlain ? word : [...word, ...leadsAt(inputs).map((lead) => lead.to)];
      },
      explain: (inputs) => cellInOneLine(program, inputs[0]!, selection(inputs), leadsAt(inputs)),
      explainDifference: (inputs, wanted, actual) =>
        differenceInWords(program, inputs[0]!, selection(inputs), leadsAt(inputs), wanted, actual),
      findings: () => addressFindings(program),
      list: () => listAddresses(program),
    },
  };
}
