// Plans: files that say what ROMs must contain, read, checked, built and explained in the builder's own words.
import { dirname, isAbsolute, join } from 'node:path';
import { printable } from '../ground/byte-text.js';
import { ToolError, ToolErrors } from '../ground/errors.js';
import { addressText } from '../ground/quantity.js';
import type { Image } from '../image/image.js';
import { addressesOf } from './addressing.js';
import { buildImage } from './image-building.js';
import { imageFindings } from './image-findings.js';
import { differenceOf, type Look, lookAtRom } from './look.js';
import { type CompiledPlan, compilePlan } from './plan-compiling.js';
import type { Rom } from './rom.js';
import { anotherPlace, type Finding, type ListRow, type ReadFile } from './table.js';
import { type PositionOf, readYaml } from './yaml-text.js';

export { addressOfValues, valuesAt } from './addressing.js';
export type { DisplayReading } from './display-reading.js';
export { displayOf, readDisplay } from './display-reading.js';
export { ByteMaker } from './image-building.js';
export { type Look, type PinLook, sayLooks } from './look.js';
export {
  imageFileName,
  type Manifest,
  manifestOf,
  manifestText,
} from './manifest.js';
export { pinListYaml } from './pin-list-yaml.js';
export type { PlanContents, PlanModule } from './plan-module.js';
export type { AddressPin, DataPin, Fill, OutputBit, Rom } from './rom.js';
export { AddressReader } from './rom.js';
export { drawDigits, drawSegments } from './segment-drawing.js';
export type { DisplayFacts, Field, Fields, Finding, ListRow, Table } from './table.js';

/** A finding with its place: line and column in YAML, null in a module; `where` is the path as text. */
export interface LocatedFinding extends Finding {
  readonly file: string;
  readonly line: number | null;
  readonly column: number | null;
  readonly where: string;
}

export interface Plan extends CompiledPlan {
  readonly file: string;
  /** Where a path of the plan stands in its text; null where the plan is a module. */
  readonly positionOf: PositionOf;
  /** What was found while it was read; warnings only, since a plan with errors is not given. */
  readonly found: readonly Finding[];
}

export interface BuiltRom {
  readonly name: string;
  /** The part as the chip table names it. */
  readonly chip: string;
  readonly image: Image;
}

/** A plan where it could be understood, and all that is wrong or doubtful, in the order of the text. */
export interface Inspection {
  /** Null where a finding is an error. */
  readonly plan: Plan | null;
  readonly findings: readonly LocatedFinding[];
}

/** Text that may hold names out of a file: safe to show, and of a length that can be read. */
const shown = (text: string): string => printable(text.length > 1000 ? `${text.slice(0, 1000)}...` : text);

const located = (finding: Finding, file: string, positionOf: PositionOf): LocatedFinding => {
  const { message, why, path, onKey, within } = finding;
  const position = positionOf(path, onKey, within);
  const place = { file, line: position?.line ?? null, column: position?.column ?? null, where: shown(path.join('.')) };
  return {
    ...finding,
    message: shown(message.replace(anotherPlace, () => lineOf(finding, positionOf))),
    why: shown(why),
    ...place,
  };
};

/** "line 34"; in a module, where no line of the file is known, "line 6 of the program". */
function lineOf({ path, other }: Finding, positionOf: PositionOf): string {
  const position = positionOf(path, false, other);
  return position ? `line ${position.line}` : `line ${(other?.line ?? 0) + 1} of the program`;
}

const inOrder = (findings: readonly LocatedFinding[]): readonly LocatedFinding[] => {
  const seen = new Set<string>();
  return [...findings]
    .sort((a, b) => (a.line ?? 0) - (b.line ?? 0) || (a.column ?? 0) - (b.column ?? 0))
    .filter((f) => {
      const key = `${f.code} ${f.where} ${f.message}`;
      if (seen.has(key)) return false;
      seen.add(key);
      return true;
    });
};

/** Files that a plan names stand relative to the plan itself. */
const besidePlan = (plan: string, readFile: ReadFile | undefined): ReadFile | null =>
  readFile ? (name) => readFile(isAbsolute(name) ? name : join(dirname(plan), name)) : null;

/** Where a plan comes from: its value, its own name, and how to read the files that it names. */
interface PlanSource {
  readonly value: unknown;
  readonly file: string;
  readonly positionOf: PositionOf;
  readonly readFile: ReadFile | undefined;
}

function read({ value, file, positionOf, readFile }: PlanSource): { plan: Plan | null; found: readonly Finding[] } {
  const { plan, findings } = compilePlan(value, besidePlan(file, readFile));
  return { plan: plan && { ...plan, file, positionOf, found: findings }, found: findings };
}

function readOrThrow(source: PlanSource): Plan {
  const { plan, found } = read(source);
  if (plan) return plan;
  const { file, positionOf } = source;
  const errors = found.filter((f) => f.severity === 'error').map((f) => located(f, file, positionOf));
  throw new ToolErrors(
    inOrder(errors).map(
      ({ line, column, where, code, message, why }) =>
        new ToolError('plan.mistake', { file, line, column, path: where, finding: code, message, why }),
    ),
  );
}

const nowhere: PositionOf = () => null;

/**
 * Reads a YAML plan; `readFile` reads the files that it names. Throws ToolErrors: every mistake in it at once, with line and
 * column.
 */
export function readPlan(text: string, file: string, readFile?: ReadFile): Plan {
  return readOrThrow({ ...readYaml(text, file), file, readFile });
}

/** Takes the value that a plan module exports. Throws ToolErrors; the path inside the object stands in for line and column. */
export const planOfObject = (value: unknown, file: string, readFile?: ReadFile): Plan =>
  readOrThrow({ value, file, positionOf: nowhere, readFile });

/** For `check`: everything found, errors and warnings. Throws ToolErrors only where the text is no YAML. */
export function inspectPlan(text: string, file: string, readFile?: ReadFile): Inspection {
  return inspect({ ...readYaml(text, file), file, readFile });
}

/** The same for the value that a plan module exports. */
export const inspectPlanObject = (value: unknown, file: string, readFile?: ReadFile): Inspection =>
  inspect({ value, file, positionOf: nowhere, readFile });

function inspect(source: PlanSource): Inspection {
  const { plan, found } = read(source);
  const { file, positionOf } = source;
  if (plan) return { plan, findings: checkPlan(plan) };
  return { plan: null, findings: inOrder(found.map((f) => located(f, file, positionOf))) };
}

/** All warnings about a plan that was read, those that show only in its images included. */
export function checkPlan(plan: Plan): readonly LocatedFinding[] {
  const images = plan.roms.map((rom) => buildImage(rom, null));
  const all = [...plan.found, ...imageFindings(plan, images)];
  return inOrder(all.map((f) => located(f, plan.file, plan.positionOf)));
}

/** Builds the image of every ROM, in the order of the plan. The same plan gives the same bytes. */
export const buildPlan = (plan: Plan): readonly BuiltRom[] =>
  plan.roms.map((rom) => ({ name: rom.name, chip: rom.chip.name, image: buildImage(rom, plan.fill) }));

/** One ROM of a plan: by name, or the only one where no name is given. Throws plan.no-rom, plan.which-rom. */
export function romOf(plan: Plan, name?: string): Rom {
  const roms = plan.roms.map((r) => r.name);
  const found = name === undefined ? plan.roms[0] : plan.roms.find((r) => r.name === name);
  if (name !== undefined && !found) throw new ToolError('plan.no-rom', { plan: plan.name, rom: name, roms });
  if (name === undefined && roms.length > 1) throw new ToolError('plan.which-rom', { plan: plan.name, roms });
  return found!;
}

function checkAddress(rom: Rom, address: number): void {
  if (Number.isInteger(address) && address >= 0 && address < rom.chip.cells) return;
  const said = Number.isInteger(address) && address >= 0 ? addressText(address, rom.chip.cells) : String(address);
  throw new ToolError('plan.address', { rom: rom.name, address: said, cells: rom.chip.cells });
}

/** Everything about one address. Throws plan.address. `sayLooks` makes text of it. */
export function lookAt(plan: Plan, rom: Rom, address: number): Look {
  checkAddress(rom, address);
  return lookAtRom(plan, rom, address);
}

/** All addresses of a ROM for settings such as `level=-12`; fields not named take every value. Throws plan.setting. */
export const addressOf = (plan: Plan, rom: Rom, settings: readonly string[]): readonly number[] =>
  addressesOf(plan, rom, settings);

/** What is wrong where a byte differs, in the builder's words; several lines where a display is drawn. */
export const describeDifference = (rom: Rom, address: number, wanted: number, actual: number): string =>
  differenceOf(rom, address, wanted, actual);

/** The tables of a plan in the builder's words; with several ROMs of their own contents, each under its name. */
export function listPlan(plan: Plan): readonly ListRow[] {
  const tables = [...new Set(plan.roms.map((r) => r.table))];
  if (tables.length === 1) return tables[0]!.list();
  return tables.flatMap((table) => {
    const names = plan.roms.filter((r) => r.table === table).map((r) => r.name);
    return [
      { level: 0, when: names.join(', '), does: '' },
      ...table.list().map((row) => ({ ...row, level: row.level + 1 })),
    ];
  });
}
