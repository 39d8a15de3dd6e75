// What `check` says about a control store by microaddress: buses, rows that lead nowhere or are never met, unused lines.

import { type Complaints, complaints } from '../complaints.js';
import type { Finding } from '../table.js';
import { busFaults, busFinding } from './bus-traffic.js';
import { isLine } from './coded-output.js';
import { addressesOf, destinationsOf, reachable, saysFlow } from './micro-flow.js';
import { actionsOf, type Microprogram, type MicroRow, placeOf } from './microprogram.js';

export function addressFindings(program: Microprogram): readonly Finding[] {
  const complaining = complaints();
  for (const row of program.rows.values()) {
    const within = { within: row.place };
    for (const fault of busFaults(actionsOf(program.fields, row.values))) {
      complaining.add([{ ...busFinding(fault, program.buses, placeOf(program, row.address), ['program']), ...within }]);
    }
  }
  if (saysFlow(program.fields)) judgeFlow(program, complaining);
  linesNeverUsed(program, complaining);
  sameRoutines(program, complaining);
  return complaining.findings;
}

function judgeFlow(program: Microprogram, { error, warning }: Complaints): void {
  const met = reachable(program);
  for (const row of program.rows.values()) {
    const more = { within: row.place };
    const here = placeOf(program, row.address);
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
    const missing = [...new Set(destinations.flatMap(addressesOf))].filter((to) => !program.rows.has(to));
    if (missing.length === 0 || program.unused !== null) continue;
    const message = `${here}: from here the store goes to address ${missing.join(' or ')}, where nothing is written.`;
    error('row.into-nothing', message, 'What stands there is whatever the chip holds.', ['program'], more);
  }
}

function linesNeverUsed(program: Microprogram, { warning }: Complaints): void {
  program.fields.forEach((field, i) => {
    if (!isLine(field) || [...program.rows.values()].some((row) => row.values[i] === 1)) return;
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
    const key = rows.map((row) => wordFrom(program, row, address, rows.length)).join(';');
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
function wordFrom(program: Microprogram, row: MicroRow, start: number, count: number): string {
  const inside = (address: number): boolean => address >= start && address < start + count;
  return program.fields
    .map((field, i) => {
      const value = row.values[i]!;
      return field.holdsAddress && inside(value) ? `+${value - start}` : value;
    })
    .join();
}
