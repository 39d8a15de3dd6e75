// Burns whose fault is known here and hidden from the product, and what its verdict on each is worth.
import { findPart } from '../../src/chip/chip-table.js';
import type { Part } from '../../src/chip/part.js';
import { linesOf, sameFault, type WiringFault } from '../../src/chip/wiring-fault.js';
import type { Random } from '../../src/ground/random.js';
import { type Image, imageOfBytes } from '../../src/image/image.js';
import type { ReadbackOptions } from '../../src/suspect/explain-readback.js';
import type { Explanation, ReadbackVerdict } from '../../src/suspect/explanation.js';
import { controlStore, skerryDisplay } from './display-image.js';
import { burnNaively, burnsAgain } from './naive-burner.js';
import { makesAgain, readNaively } from './naive-reader.js';

const cells = 2048;
const lines = 11;

export interface HiddenBurn {
  readonly image: Image;
  readonly readback: Uint8Array;
  readonly options: ReadbackOptions;
  /** Null where the wires were sound, or all that the burn wrote came out as through sound ones. */
  readonly fault: WiringFault | null;
  /** What happened, in a line. */
  readonly story: string;
}

const line = (random: Random, bus: 'A' | 'D'): `A${number}` | `D${number}` =>
  `${bus}${random.below(bus === 'A' ? lines : 8)}`;

/** Stuck and open lines, and two that touch: what makes burns fail. Crossed and inverted lines cancel out, or look as at reading. */
const burnFault = (random: Random): WiringFault => {
  const bus = random.chance(0.8) ? 'A' : 'D';
  const one = line(random, bus);
  const kind = random.pick(['stuck', 'stuck', 'shorted'] as const);
  if (kind === 'stuck') return { kind, line: one, level: random.chance(0.5) ? 1 : 0 };
  let other = one;
  while (other === one) other = line(random, bus);
  const [first, second] = [one, other].sort((a, b) => Number(a.slice(1)) - Number(b.slice(1)));
  return { kind, lines: [first!, second!], wins: random.chance(0.5) ? 'low' : 'high' };
};

const images = (random: Random): Image => {
  const kind = random.pick(['noise', 'display', 'control', 'sparse', 'half'] as const);
  if (kind === 'noise') return imageOfBytes(kind, random.bytes(cells));
  if (kind === 'display') return skerryDisplay();
  if (kind === 'control') return controlStore(lines, random);
  const bytes = random.bytes(cells);
  if (kind === 'sparse')
    return imageOfBytes(
      kind,
      bytes.map((byte, a) => (a % 64 < 5 ? byte : 0xff)),
    );
  return { ...imageOfBytes(kind, bytes), defined: bytes.map((_, a) => (a < cells / 2 ? 1 : 0)) };
};

const pagePart: Part = { ...findPart('AT28C64B'), cells, addressLines: lines };
const cellPart: Part = { ...findPart('AT28C16E'), cells, addressLines: lines };

/** One burn, drawn: image, wires, writer, what the chip held, and how much of it all the product is told. */
export function hiddenBurn(random: Random): HiddenBurn {
  const image = images(random);
  const isSound = random.chance(0.1);
  const fault = isSound ? null : burnFault(random);
  const part = random.pick([pagePart, cellPart]);
  const compares = random.chance(0.6);
  const isBlank = random.chance(0.6);
  const held = isBlank ? new Uint8Array(cells).fill(0xff) : random.bytes(cells);
  const isMended = random.chance(0.5);
  const page = part.pageBytes.value;
  const wires = fault === null ? [] : [fault];
  const pulledAt = isSound || random.chance(0.1) ? 64 * (1 + random.below(31)) : undefined;
  const pageRule = random.chance(0.7) ? ('named last' as const) : ('named first' as const);
  const burn = { image, held, page, pageRule, compares, ...(pulledAt && { pulledAt }) };
  const chip = burnNaively({ ...burn, wires });
  const saysPart = random.chance(0.6);
  const saysBefore = !isBlank && random.chance(0.5);
  // What is kept was read through the wires that burn.
  const before = readNaively(held, wires);
  const told = { ...(saysPart && { part }), ...(saysBefore && { before }) };
  const story = [
    image.name,
    fault === null ? 'sound' : JSON.stringify(fault),
    compares ? 'careful' : 'blind',
    isBlank ? 'over blank' : `over old bytes${saysBefore ? ', told' : ''}`,
    `pages of ${page}${saysPart ? ', told' : ''}, ${pageRule}`,
    pulledAt ? `pulled at ${pulledAt}` : 'to the end',
    isMended ? 'mended' : 'read through it',
  ].join('; ');
  const readback = isMended ? chip : readNaively(chip, wires);
  const sound = burnNaively({ ...burn, wires: [] });
  const isTraceless = sound.every((byte, a) => byte === readback[a]);
  return { image, readback, options: told, fault: isTraceless ? null : fault, story };
}

export type Worth = 'healthy' | 'right' | 'none' | 'truth excluded' | 'sound line blamed alone';

const hasOneLevel = ({ kind }: WiringFault): boolean => kind === 'open' || kind === 'stuck';

/** A line that is open or stuck, at whatever level, is the line to mend. */
const alike = (one: WiringFault, other: WiringFault): boolean =>
  sameFault(one, other) || (hasOneLevel(one) && hasOneLevel(other) && linesOf(one)[0] === linesOf(other)[0]);

/** What a verdict is worth, by what is known here. */
export function worthOf({ fault }: HiddenBurn, { healthy, explanations, notListed }: ReadbackVerdict): Worth {
  if (healthy) return 'healthy';
  if (explanations.length === 0) return 'none';
  const blaming = explanations.filter((e) => e.faults.length > 0 || e.permutation !== null);
  if (fault === null) return blaming.length === explanations.length ? 'sound line blamed alone' : 'right';
  if (blaming.some((e) => e.faults.some((f) => alike(f, fault)))) return 'right';
  // A chip that reads as never burned tells nothing of lines.
  if (explanations.some((e) => e.kind === 'blank' || e.kind === 'absent')) return 'none';
  // A list that is cut off, and says so, excludes nothing.
  if (notListed > 0) return 'none';
  const touches = blaming.some((e) => e.faults.some((f) => linesOf(f).some((l) => linesOf(fault).includes(l))));
  return blaming.length === explanations.length && !touches ? 'sound line blamed alone' : 'truth excluded';
}

/** Explanations that do not give what was read when they are made again, apart from the product. */
export const falseOnes = ({ image, readback, options }: HiddenBurn, { explanations }: ReadbackVerdict): Explanation[] =>
  explanations.filter(
    (one) =>
      makesAgain(image.bytes, readback, one, image.defined) === false ||
      burnsAgain(image, readback, one, options.before ?? null) === false,
  );
