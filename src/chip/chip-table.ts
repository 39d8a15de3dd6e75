// The chip table: every part the tool can drive, found by name, and what follows from a row by computing.
import { ToolError } from '../ground/errors.js';
import { nearNames } from '../ground/near-names.js';
import { atmelByteParts } from './atmel-byte-parts.js';
import { atmelPageParts } from './atmel-page-parts.js';
import { familiesOf } from './families.js';
import type { RealPart } from './figure.js';

import { catalystParts, microchipParts, stParts } from './other-parts.js';
import type { Part } from './part.js';
import { xicorParts } from './xicor-parts.js';

const realParts: readonly RealPart[] = [
  ...atmelByteParts,
  ...atmelPageParts,
  ...xicorParts,
  ...catalystParts,
  ...stParts,
  ...microchipParts,
];

/** All rows: the families first, then the real parts by maker. */
export const parts: readonly Part[] = [...familiesOf(realParts), ...realParts.map((p) => ({ ...p, members: null }))];

const byName = new Map(parts.map((p) => [p.name, p]));
const longestNameFirst = [...parts].sort((a, b) => b.name.length - a.name.length);

/** What may follow a part's name in an order code: a speed after a dash, package letters before a number, or endurance E. */
const orderSuffix = /^(?:[-/ ].*|[A-Z]{0,3}[-/ ]?\d\d.*|E)$/;
/** A family takes a speed after a dash only: a letter would name another part. */
const familySuffix = /^[-/ ].*$/;

/**
 * The row for a part name as a person types or reads it off the package: any case, spaces around, order suffixes such as
 * `-15PU` or `LI15` ignored. Throws chip.unknown with near names.
 */
export function findPart(name: string): Part {
  const typed = name.trim().toUpperCase();
  const exact = byName.get(typed);
  if (exact) return exact;
  for (const part of longestNameFirst) {
    if (!typed.startsWith(part.name)) continue;
    const suffix = typed.slice(part.name.length);
    // A digit right after the name would make it another part: AT28C64 is not the start of AT28C640.
    if (/^\d/.test(suffix)) continue;
    if ((part.members ? familySuffix : orderSuffix).test(suffix)) return part;
  }
  throw new ToolError('chip.unknown', { name: name.trim(), near: nearNames(typed, [...byName.keys()]) });
}

/** The real parts of a family; a real part stands for itself. */
export const membersOf = (part: Part): readonly Part[] => (part.members ?? [part.name]).map((n) => byName.get(n)!);

/** The names of the parts with protection codes, of those that the chip may be. */
export const withCodes = (part: Part): readonly string[] =>
  part.protection.value
    ? [part.name]
    : membersOf(part)
        .filter((member) => member.protection.value)
        .map((member) => member.name);

/**
 * The one real part of a family that forgives least: smallest page, no protection codes, shortest allowed write pulse,
 * shortest load window, longest cycle, slowest outputs, in this order; the first in the table where all agree.
 */
export function strictestMember(part: Part): Part {
  const severity = (p: Part): readonly number[] => [
    p.pageBytes.value,
    p.protection.value ? 1 : 0,
    p.write.value.pulseMaxNs ?? Number.MAX_SAFE_INTEGER,
    p.loadWindowMaxUs?.value ?? 0,
    -p.cycleMaxUs.value,
    -p.accessNs.value,
  ];
  const stricter = (a: Part, b: Part): Part => {
    const other = severity(b);
    const difference = severity(a).map((s, i) => s - other[i]!);
    return (difference.find((d) => d !== 0) ?? 0) <= 0 ? a : b;
  };
  return membersOf(part).reduce(stricter);
}

/** Write cycles that filling the whole chip takes: one a page, or one a cell without page mode. */
export const wholeChipCycles = (part: Part): number => part.cells / part.pageBytes.value;

/**
 * Milliseconds that the write cycles of a whole chip take, transfer and load window not counted.
 * `typical` falls back to the longest cycle where no typical one is published.
 */
export function wholeChipMs(part: Part, cycle: 'typical' | 'max'): number {
  const us = cycle === 'typical' && part.cycleTypicalUs ? part.cycleTypicalUs.value : part.cycleMaxUs.value;
  return (wholeChipCycles(part) * us) / 1000;
}

export interface Capabilities {
  /** Several cells in one write cycle. */
  readonly pageMode: boolean;
  /** Software data protection codes. */
  readonly protection: boolean;
  readonly dataPolling: boolean;
  readonly toggleBit: boolean;
  /** 74HC595 registers that the address needs. */
  readonly addressRegisters: number;
}

/** What a row can do, as plain yes and no. */
export const capabilities = (part: Part): Capabilities => ({
  pageMode: part.pageBytes.value > 1,
  protection: part.protection.value,
  dataPolling: part.polling.value !== 'limit',
  toggleBit: part.polling.value === 'toggle',
  // Two registers are the least that a writer is built with.
  addressRegisters: Math.max(2, Math.ceil(part.addressLines / 8)),
});
