// What `check` says about a control store by microaddress: buses, rows that lead nowhere or are never met, unused lines.

import { type Complaints, complaints } from '../complaints.js';
import type { Finding } from '../table.js';
import { caseInWords, wordInWords } from './address-explanation.js';
import { busFaults, busFinding } from './bus-traffic.js';
import { isLine } from './coded-output.js';
import { addressesOf, destinationsOf, flowWordsOf, reachable, saysFlow } from './micro-flow.js';
import { actionsOf, casesOf, type MicroCase, type Microprogram, type MicroRow } from './microprogram.js';

export function addressFindings(program: Microprogram): readonly Finding[] {
  const complaining = complaints();
  for (const row of casesOf(program)) {
    const within = { within: row.place };
    for (const fault of busFaults(actionsOf(program.fields, row.values))) {
      complaining.add([{ ...busFinding(fault, program.buses, caseInWords(program, row), ['program']), ...within }]);
    }
  }
  if (saysFlow(program.fields)) judgeFlow(program, complaining);
  else judgeTargets(program, complaining);
  linesNeverUsed(program, complaining);
  sameRoutines(program, complaining);
  return complaining.findings;
}

function judgeFlow(program: Microprogram, complaining: Complaints): void {
  const { error, warning } = complaining;
  const met = reachable(program);
  for (const row of casesOf(program)) {
    const more = { within: row.place };
    const here = caseInWords(program, row);
    if (!met.has(row.address)) {
      const isFirst = met.has(row.address - 1) || !program.rows.has(row.address - 1);
      const why = 'No row leads here, so it takes a place for nothing; a jump to it may be missing.';
      if (isFirst) warning('row.never', `${here}: this row is never reached.`, why, ['program'], more);
      continue;
    }
    const destinations = destinationsOf(program, row);
    if (destinations.length === 0) {
      const why = 'Set a code that says where it goes, or let one of the codes of this row say so.';
      error('row.no-end', `${here}: nothing says where the store goes after this row.`, why, ['program'], more);
    }
    jumpsWithoutTarget(program, row, complaining);
    const missing = [...new Set(destinations.flatMap(addressesOf))].filter((to) => !program.rows.has(to));
    if (missing.length > 0) leadsAstray(program, row, missing, complaining);
  }
}

/** A row whose code goes to an address field that the row does not set: it jumps to address 0, which nobody wrote. */
function jumpsWithoutTarget(program: Microprogram, row: MicroCase, { warning }: Complaints): void {
  const words = flowWordsOf(program, row);
  program.fields.forEach((field, i) => {
    if (!field.holdsAddress || field.hasDefault || row.written.has(i) || !words.includes(field.name)) return;
    const message = `${caseInWords(program, row)}: this row goes to "${field.name}", and does not say which address that is.`;
    const why = `It goes to address 0 then; write ${field.name}=label in the row, or give "${field.name}" a default.`;
    warning('row.no-target', message, why, ['program'], { within: row.place });
  });
}

/** From a row the store goes to addresses without rows: an error where nothing stands there. */
function leadsAstray(
  program: Microprogram,
  row: MicroCase,
  missing: readonly number[],
  { error, warning }: Complaints,
): void {
  const here = caseInWords(program, row);
  const more = { within: row.place };
  const end = 2 ** program.address.bits;
  if (program.unused === null) {
    const message = `${here}: from here the store goes to address ${missing.join(' or ')}, where nothing is written.`;
    error('row.into-nothing', message, 'What stands there is whatever the chip holds.', ['program'], more);
    return;
  }
  const inside = missing.filter((address) => address < end);
  if (inside.length < missing.length) {
    const message = `${here}: from here the store goes on behind the last address, ${end - 1}.`;
    const why = 'A counter begins again at 0 there; end the program with a row that says where it goes.';
    warning('row.off-end', message, why, ['program'], more);
  }
  if (inside.length === 0) return;
  const message = `${here}: from here the store goes to address ${inside.join(' or ')}, which no row uses.`;
  const why = `There it does what unused addresses do: ${wordInWords(program, program.unused, true)}.`;
  warning('row.into-unused', message, why, ['program'], more);
}

/** Where no code says where the store goes, an address in a row is at least one of a row. */
function judgeTargets(program: Microprogram, { warning }: Complaints): void {
  for (const row of casesOf(program)) {
    for (const i of row.written) {
      const [field, address] = [program.fields[i]!, row.values[i]!];
      if (!field.holdsAddress || program.rows.has(address)) continue;
      const message = `${caseInWords(program, row)}: "${field.name}" is ${address}, an address that no row uses.`;
      const why = 'A label of the program may be meant, or the row that belongs there is missing.';
      warning('row.into-unused', message, why, ['program'], { within: row.place });
    }
  }
}

function linesNeverUsed(program: Microprogram, { warning }: Complaints): void {
  program.fields.forEach((field, i) => {
    if (!isLine(field) || casesOf(program).some((row) => row.values[i] === 1)) return;
    const why = 'It takes a data pin and never does anything: a row forgets it, or it can go.';
    warning('line.unused', `No row asserts the line "${field.name}".`, why, ['word', field.name], { onKey: true });
  });
}

/** Two labels whose rows are the same until both go on to somewhere else. */
function sameRoutines(program: Microprogram, { warning }: Complaints): void {
  const seen = new Map<string, string>();
  const starts = program.labelAt;
  for (const [address, label] of starts) {
    const rows: MicroRow[] = [];
    for (let at = address; program.rows.has(at) && (at === address || !starts.has(at)); at++)
      rows.push(program.rows.get(at)!);
    if (rows.length < 2) continue;
    const key = rows
      .map(({ cases }) => cases.map((one) => `${one.when}:${wordFrom(program, one, address, rows.length)}`).join('|'))
      .join(';');
    const other = seen.get(key);
    if (other === undefined) {
      seen.set(key, label);
      continue;
    }
    const why = 'One of them was probably meant to do something else; if not, one can jump to the other.';
    warning('routine.same', `"${label}" has the same rows as "${other}".`, why, ['program'], {
      within: rows[0]!.place,
    });
  }
}

/** A row's values, with addresses inside its own routine counted from its label, so that a moved copy is still a copy. */
function wordFrom(program: Microprogram, row: MicroCase, start: number, count: number): string {
  const inside = (address: number): boolean => address >= start && address < start + count;
  return program.fields
    .map((field, i) => {
      const value = row.values[i]!;
      return field.holdsAddress && inside(value) ? `+${value - start}` : value;
    })
    .join();
}
