// The chip table as text: one line a part, or one part with the source of every figure.
import { wholeChipMs } from '../chip/chip-table.js';
import type { Part, Sourced } from '../chip/part.js';
import { columns } from './columns.js';
import { countOf, groupedText, sizeText, timeText } from './quantity.js';

const pageText = (part: Part): string => (part.pageBytes.value === 1 ? 'cell' : String(part.pageBytes.value));

export function chipListText(parts: readonly Part[]): string {
  const heading = [
    'part',
    'size',
    'pins',
    'page',
    'cycle max',
    'typical',
    'whole chip',
    'protection',
    'polling',
    'endurance',
  ];
  const rows = parts.map((p) => [
    p.name,
    sizeText(p.cells),
    String(p.pins),
    pageText(p),
    timeText(p.cycleMaxUs.value),
    p.cycleTypicalUs ? timeText(p.cycleTypicalUs.value) : '-',
    timeText(Math.round(wholeChipMs(p, 'max') * 1000)),
    p.protection.value ? 'codes' : 'none',
    p.polling.value,
    groupedText(p.endurance.value),
  ]);
  const note =
    'A family name (28C16, 28C64 ...) takes the most cautious figure of all its members. "cell": no page mode, every cell\n' +
    'its own write cycle. "romkiln chips <part>" names the source of each figure.\n';
  return columns(heading, rows, ['left', 'right', 'right', 'right', 'right', 'right', 'right']) + note;
}

interface NamedFigure {
  readonly name: string;
  readonly value: string;
  readonly figure: Sourced<unknown>;
}

function figuresOf(part: Part): NamedFigure[] {
  const figures: (NamedFigure | null)[] = [
    {
      name: 'page',
      value: part.pageBytes.value === 1 ? 'none, cell by cell' : countOf(part.pageBytes.value, 'byte'),
      figure: part.pageBytes,
    },
    { name: 'write cycle, longest', value: timeText(part.cycleMaxUs.value), figure: part.cycleMaxUs },
    part.cycleTypicalUs && {
      name: 'write cycle, typical',
      value: timeText(part.cycleTypicalUs.value),
      figure: part.cycleTypicalUs,
    },
    part.loadWindowMaxUs && {
      name: 'byte-load window',
      value: timeText(part.loadWindowMaxUs.value),
      figure: part.loadWindowMaxUs,
    },
    { name: 'data protection codes', value: part.protection.value ? 'yes' : 'no', figure: part.protection },
    { name: 'end of cycle seen by', value: part.polling.value, figure: part.polling },
    { name: 'access time, slowest', value: `${part.accessNs.value} ns`, figure: part.accessNs },
    {
      name: 'write pulse',
      value: `${part.write.value.pulseMinNs} ns to ${part.write.value.pulseMaxNs === null ? 'any length' : `${part.write.value.pulseMaxNs} ns`}`,
      figure: part.write,
    },
    { name: 'endurance', value: `${groupedText(part.endurance.value)} cycles`, figure: part.endurance },
  ];
  return figures.filter((f) => f !== null);
}

export function chipText(part: Part): string {
  const head = `${part.name} (${part.maker}): ${sizeText(part.cells)}, ${part.addressLines} address lines, ${part.pins} pins\n`;
  const members = part.members ? `Family of ${part.members.join(', ')}: the most cautious figure of all.\n` : '';
  const rows = figuresOf(part).map((f) => [
    f.name,
    f.value,
    f.figure.known === 'read' ? 'read' : 'from memory',
    f.figure.source,
  ]);
  return head + members + columns(['figure', 'value', 'known', 'source'], rows);
}
