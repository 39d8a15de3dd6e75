// Errors of the room plan: code, exit, sentence, note.

import { exit } from '../exit.js';
import { addressText } from '../quantity.js';
import { row } from './row.js';

/** A place in a plan: line and column of a YAML file; of a module only the path inside the object is known. */
export interface PlanPlace {
  readonly file: string;
  /** From 1; null in a module. */
  readonly line: number | null;
  readonly column: number | null;
  /** Keys from the root, e.g. `roms.display.data.a`; empty for the whole plan. */
  readonly path: string;
}

/** `file:line:column`, or `file, at roms.display`. */
const atPlan = (p: PlanPlace): string =>
  p.line !== null ? `${p.file}:${p.line}:${p.column}` : p.path ? `${p.file}, at ${p.path}` : p.file;

const known = (names: readonly string[]): string => names.join(', ') || 'none';

export const planErrors = {
  'plan.mistake': row<PlanPlace & { finding: string; message: string; why: string }>(
    exit.usage,
    (f) => `${atPlan(f)}: ${f.message}`,
    (f) => f.why,
  ),
  'plan.syntax': row<PlanPlace & { message: string; why: string }>(
    exit.usage,
    (f) => `${atPlan(f)}: ${f.message}`,
    (f) => f.why,
  ),
  'plan.no-rom': row<{ plan: string; rom: string; roms: readonly string[] }>(
    exit.usage,
    (f) => `The plan ${f.plan} has no ROM named "${f.rom}".`,
    (f) => `Its ROMs are: ${known(f.roms)}.`,
  ),
  'plan.which-rom': row<{ plan: string; roms: readonly string[] }>(
    exit.usage,
    (f) => `The plan ${f.plan} describes ${f.roms.length} ROMs, and this needs one of them.`,
    (f) => `Name one with --rom: ${known(f.roms)}.`,
  ),
  'plan.address': row<{ rom: string; address: string; cells: number }>(
    exit.usage,
    (f) => `The ROM ${f.rom} has no address ${f.address}.`,
    (f) => `Addresses run from 0 to ${addressText(f.cells - 1, f.cells)}.`,
  ),
  'plan.setting': row<{ setting: string; message: string; why: string }>(
    exit.usage,
    (f) => `"${f.setting}": ${f.message}`,
    (f) => f.why,
  ),
};
