// npm run bench -- verdict-speed [sizes in KiB...]: how long a verdict on a readback takes, by size, with the part known and without.
import { parts } from '../src/chip/chip-table.js';
import type { Part } from '../src/chip/part.js';
import { parseWiringFault } from '../src/chip/wiring-fault.js';
import { seededRandom } from '../src/ground/random.js';
import { type Image, imageOfBytes } from '../src/image/image.js';
import { explainReadback } from '../src/suspect/explain-readback.js';
import { burnNaively } from '../tests/suspect/naive-burner.js';
import { readNaively } from '../tests/suspect/naive-reader.js';
import { plainRow, type Row, tellTable } from './row.js';

/** Time of the processor, since other work may share it. */
const cpuMs = (began: NodeJS.CpuUsage): number => process.cpuUsage(began).user / 1000;

const pageOf = (part: Part): number => part.pageBytes.value;

/** A part of so many cells, written in pages. */
const partOf = (cells: number): Part => {
  const fitting = parts.filter((p) => p.cells === cells).sort((a, b) => pageOf(b) - pageOf(a))[0];
  if (fitting === undefined) throw new Error(`no part of ${cells} cells`);
  return fitting;
};

const through = (bytes: Uint8Array, fault: string): Uint8Array => readNaively(bytes, [parseWiringFault(fault)]);

const readbacks = (image: Image, part: Part): readonly (readonly [string, Uint8Array])[] => {
  const cells = image.bytes.length;
  const held = new Uint8Array(cells).fill(0xff);
  const burn = { image, held, page: pageOf(part), pageRule: 'named last', compares: true } as const;
  return [
    ['a line crossed', through(image.bytes, 'A3 A9 crossed')],
    ['two lines crossed and stuck', through(through(image.bytes, 'A3 A9 crossed'), 'D2 stuck 0')],
    ['burned with A5 stuck', burnNaively({ ...burn, wires: [parseWiringFault('A5 stuck 0')] })],
    ['a burn that stopped', burnNaively({ ...burn, wires: [], pulledAt: cells / 4 })],
    ['nothing on the list', seededRandom(3).bytes(cells)],
  ];
};

export function main(sizes: readonly string[]): void {
  const kinds = (sizes.length > 0 ? sizes : ['2', '8', '32']).map(Number);
  const sections = kinds.map((kib) => {
    const cells = kib * 1024;
    const part = partOf(cells);
    // Half random, half FF between short runs, as control stores are.
    const random = seededRandom(kib);
    const image = imageOfBytes(
      'mixed',
      random.bytes(cells).map((byte, a) => (a < cells / 2 || a % 64 < 9 ? byte : 0xff)),
    );
    const rows = readbacks(image, part).flatMap(([what, readback]): Row[] =>
      [{ part }, {}].map((options) => {
        const began = process.cpuUsage();
        const { explanations } = explainReadback(image, readback, options);
        const ms = cpuMs(began);
        const known = 'part' in options ? part.name : 'no part';
        return plainRow(`${what}, ${known}: ${explanations.length} explanations`, `${ms.toFixed(0)} ms`);
      }),
    );
    return { heading: `${kib} KiB`, rows, notes: [] };
  });
  tellTable(sections);
}
