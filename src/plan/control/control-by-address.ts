// The kind of contents `control-by-address`: a microprogram, one word an address.
import type { Compiled, ContentsKind, Fields, OutputValues } from '../table.js';
import { cellInOneLine, cellInWords, differenceInWords, type Lead, listAddresses } from './address-explanation.js';
import { addressFindings } from './address-findings.js';
import { type AddressContents, addressSchema } from './address-schema.js';
import { flagValue } from './flag-settings.js';
import { compileFollowing } from './following-address.js';
import { assemble, wordAt } from './microprogram.js';

/**
 * Control store by microaddress. Inputs of its table: the address field, then the fields that dispatch tables go by, then `inputs`.
 * Outputs: the fields of the word in their order, each dispatch table, and the following address where it is asked for.
 */
export const controlByAddress: ContentsKind<AddressContents> = {
  kind: 'control-by-address',
  schema: addressSchema,
  forgiving: { leaveOut: ['about'], standIns: {} },
  // The widths of dispatch tables and of the following address are those of a field, which contents alone do not tell.
  outputsOf: () => null,
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
  const { space } = program;
  const words: readonly OutputValues[][] = Array.from({ length: 2 ** address.bits }, (_, at) =>
    Array.from({ length: space.size }, (__, setting) => wordAt(program, at, setting)?.values ?? unsaid),
  );
  // A field may be asked for by rows and by dispatch tables alike.
  const fieldsRead = [...new Map([address, ...selectors, ...space.flags].map((field) => [field.name, field])).values()];
  const placeOfInput = space.flags.map((flag) => fieldsRead.findIndex(({ name }) => name === flag.name));
  const settingOf = (inputs: readonly number[]): number =>
    space.flags.reduce((setting, flag, i) => setting | (inputs[placeOfInput[i]!]! << flag.shift), 0);
  const indexOfTable = new Map(dispatches.map((d, i) => [d.name, i]));
  const targetsAt = (inputs: readonly number[]): (number | undefined)[] => {
    const targets = dispatches.map((d, i) => d.targets[inputs[selectorOf[i]!]!]);
    if (following !== null)
      targets.push(following.at(inputs[0]!, settingOf(inputs), (table) => targets[indexOfTable.get(table)!]));
    return targets;
  };
  const leadsAt = (inputs: readonly number[]): readonly Lead[] => {
    const selected = selectors.map((field, i) => flagValue(field, inputs[i + 1]!));
    const targets = targetsAt(inputs);
    const led = dispatches.map(({ name }, i) => ({ name, when: selected[selectorOf[i]! - 1]!, to: targets[i] }));
    if (following === null) return led;
    const everywhere = [cellInWords(program, inputs[0]!, settingOf(inputs)), ...selected].join(', ');
    return [...led, { name: following.name, when: everywhere, to: targets.at(-1) }];
  };
  const isPlain = dispatches.length === 0 && following === null;
  return {
    findings: [...findings, ...(following?.findings ?? [])],
    table: {
      inputs: new Map(fieldsRead.map((field) => [field.name, field.bits])),
      outputs: new Map([
        ...fields.map((field) => [field.name, field.bits] as const),
        ...dispatches.map((d) => [d.name, address.bits] as const),
        ...(following === null ? [] : [[following.name, address.bits] as const]),
      ]),
      activeLow: new Set(fields.filter((field) => field.activeLow).map((field) => field.name)),
      at: (inputs) => {
        const word = words[inputs[0]!]![settingOf(inputs)]!;
        return isPlain ? word : [...word, ...targetsAt(inputs)];
      },
      explain: (inputs, outputs) => cellInOneLine(program, inputs[0]!, settingOf(inputs), leadsAt(inputs), outputs),
      explainDifference: (inputs, wanted, actual) =>
        differenceInWords(program, inputs[0]!, settingOf(inputs), leadsAt(inputs), wanted, actual),
      findings: () => addressFindings(program),
      list: () => listAddresses(program),
      namesIn: (field) => (field === address.name ? [...program.labelAt] : []),
    },
  };
}
