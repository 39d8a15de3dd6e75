// The bench file: a bench's state as JSON, written after every write cycle and read strictly.
import { capabilities, findPart } from '../chip/chip-table.js';
import { base64OfBytes, bytesOfBase64 } from '../ground/byte-text.js';
import { ToolError } from '../ground/errors.js';
import type { Files } from '../ground/files.js';
import type { BenchState } from './bench-state.js';
import { parseFault, spellFault } from './chip-fault.js';
import { fieldsOf, type JsonValue } from './json-fields.js';

const version = 1;
/** Control characters other than white space, and what is left of bytes that are no UTF-8. */
const binary = /[\u0000-\u0008\u000e-\u001f\ufffd]/;
/** Cells in one row of the file. */
const rowCells = 256;

/** One row of cells: two digits where all are equal, else base64. */
function spellCells(row: Uint8Array): string {
  const first = row[0]!;
  return row.every((b) => b === first) ? first.toString(16).toUpperCase().padStart(2, '0') : base64OfBytes(row);
}

/** One row of wear: `count` or runs of `length*count`, comma between. */
function spellWear(row: Uint32Array): string {
  const runs: { length: number; count: number }[] = [];
  for (const count of row) {
    const last = runs.at(-1);
    if (last?.count === count) last.length++;
    else runs.push({ length: 1, count });
  }
  return runs.length === 1 ? `${runs[0]!.count}` : runs.map((r) => `${r.length}*${r.count}`).join(',');
}

type Cells = Uint8Array | Uint32Array;

interface SpelledRows<Array extends Cells> {
  readonly of: Array;
  readonly rows: string[];
}

/** What was spelled of an array the last time: a write cycle changes few rows, and a bench is saved after every one. */
const spelled = new WeakMap<Cells, SpelledRows<Cells>>();

function rowsOf<Array extends Cells>(array: Array, spell: (row: Array) => string): readonly string[] {
  const known = spelled.get(array) ?? { of: array.slice(), rows: [] };
  for (let i = 0; i * rowCells < array.length; i++) {
    const now = array.subarray(i * rowCells, (i + 1) * rowCells) as Array;
    const before = known.of.subarray(i * rowCells, (i + 1) * rowCells);
    if (known.rows[i] !== undefined && bytesOf(now).equals(bytesOf(before))) continue;
    known.rows[i] = spell(now);
    before.set(now);
  }
  spelled.set(array, known);
  return known.rows;
}

const bytesOf = (array: Cells): Buffer => Buffer.from(array.buffer, array.byteOffset, array.byteLength);

/** The file's text for a state; the same state always gives the same text. */
export function spellBench(state: BenchState): string {
  const { part, cells, wear } = state;
  return `${JSON.stringify(
    {
      format: 'romkiln bench',
      version,
      part: part.name,
      protectionOn: state.protectionOn,
      cycleUs: state.cycleUs,
      seed: state.seed,
      answerDelayMs: state.answerDelayMs,
      registers: state.registers,
      chainReturn: state.chainReturn,
      faults: state.faults.map((fault) => spellFault(fault, part.cells)),
      violations: state.violations,
      starts: state.starts,
      cells: rowsOf(cells, spellCells),
      wear: rowsOf(wear, spellWear),
    },
    null,
    1,
  )}\n`;
}

/** Saves a bench through a temporary name; not synced to the disk, because it changes every few milliseconds. */
export function saveBenchState(files: Files, path: string, state: BenchState): void {
  files.replace(path, spellBench(state));
}

/** Reads a bench file. Throws emulator.bench-file with what is wrong, or what `files` throws. */
export function readBenchState(files: Files, path: string): BenchState {
  const text = Buffer.from(files.read(path)).toString('utf8');
  const { names } = files.standing(path);
  // It is replaced whole at every save, so another name would go on as a bench of its own, with the same wear.
  if (names > 1) throw new ToolError('emulator.bench-file', { path, problem: `it has ${names} names (hard links)` });
  return parseBench(text, path);
}

/** A bench from its file's text; `path` is for the error. */
export function parseBench(text: string, path: string): BenchState {
  const bad = (problem: string): never => {
    throw new ToolError('emulator.bench-file', { path, problem });
  };
  let json: JsonValue;
  try {
    json = JSON.parse(text) as JsonValue;
  } catch (error) {
    // What a binary file holds says nothing to a person, and much to a terminal.
    return bad(binary.test(text) ? 'it is a binary file, not JSON' : `it is no JSON: ${(error as Error).message}`);
  }
  const fields = fieldsOf(json, bad);
  if (fields.text('format') !== 'romkiln bench') return bad('its format is not "romkiln bench"');
  const found = fields.whole('version', 0, Number.MAX_SAFE_INTEGER);
  if (found !== version) return bad(`its version is ${found}, this program reads version ${version}`);
  const name = fields.text('part');
  const part = orBad(bad, () => findPart(name));
  if (part.name !== name || part.members) return bad(`part "${name}" is not the exact name of a real part`);
  const cells = new Uint8Array(part.cells);
  const wear = new Uint32Array(part.cells);
  fields.texts('cells', part.cells / rowCells).forEach((row, i) => {
    cells.set(
      cellsOfRow(row) ?? bad(`row ${i} of "cells" is neither two digits nor base64 of ${rowCells} bytes`),
      i * rowCells,
    );
  });
  fields.texts('wear', part.cells / rowCells).forEach((row, i) => {
    wear.set(wearOfRow(row) ?? bad(`row ${i} of "wear" is no list of counts for ${rowCells} cells`), i * rowCells);
  });
  const state: BenchState = {
    part,
    cells,
    wear,
    protectionOn: fields.flag('protectionOn'),
    cycleUs: fields.number('cycleUs', 100, 1_000_000),
    seed: fields.whole('seed', 0, 0xffffffff),
    answerDelayMs: fields.number('answerDelayMs', 0, 16),
    registers: fields.whole('registers', 2, 3) as 2 | 3,
    chainReturn: fields.flag('chainReturn'),
    faults: fields.texts('faults', null).map((f) => orBad(bad, () => parseFault(f, part.cells))),
    violations: fields.whole('violations', 0, Number.MAX_SAFE_INTEGER),
    starts: fields.whole('starts', 0, Number.MAX_SAFE_INTEGER),
  };
  fields.nothingElse();
  if (state.protectionOn && !capabilities(part).protection) return bad(`${name} has no protection that could be on`);
  return state;
}

/** What a reader of names or faults says against a value is what is wrong with the file. */
function orBad<Value>(bad: (problem: string) => never, read: () => Value): Value {
  try {
    return read();
  } catch (error) {
    if (error instanceof ToolError) return bad(error.message.replace(/\.$/, ''));
    throw error;
  }
}

function cellsOfRow(text: string): Uint8Array | null {
  if (/^[0-9A-F]{2}$/.test(text)) return new Uint8Array(rowCells).fill(Number.parseInt(text, 16));
  const bytes = bytesOfBase64(text);
  return bytes?.length === rowCells ? bytes : null;
}

function wearOfRow(text: string): Uint32Array | null {
  const row = new Uint32Array(rowCells);
  if (/^\d{1,9}$/.test(text)) return row.fill(Number(text));
  let at = 0;
  for (const run of text.split(',')) {
    const match = /^(\d{1,3})\*(\d{1,9})$/.exec(run);
    if (!match) return null;
    row.fill(Number(match[2]), at, at + Number(match[1]));
    at += Number(match[1]);
  }
  return at === rowCells ? row : null;
}
