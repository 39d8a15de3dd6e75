// Family rows such as 28C256: for a builder who does not know the maker, the most cautious figure of all members.
import type { RealPart } from './figure.js';
import type { Part, Sourced, WriteTiming } from './part.js';

/** Which real parts a family name stands for: same cells, same socket. */
const memberNames: Readonly<Record<string, readonly string[]>> = {
  '28C16': ['AT28C16', 'AT28C16E', 'CAT28C16A', 'M28C16A'],
  '28C17': ['AT28C17', 'AT28C17E', '28C17A', 'M28C17A'],
  '28C64': [
    'AT28C64',
    'AT28C64X',
    'AT28C64E',
    'AT28C64B',
    'AT28HC64B',
    'AT28HC64BF',
    'X28C64',
    'X28HC64',
    'M28C64',
    'M28C64C',
    'CAT28C64B',
  ],
  '28C256': ['AT28C256', 'AT28C256F', 'AT28HC256', 'AT28HC256F', 'X28C256', 'X28HC256', 'M28256', 'CAT28C256'],
  '28C010': ['AT28C010', 'X28C010'],
  '28C040': ['AT28C040'],
};

type Figure = { readonly figure: Sourced<unknown>; readonly of: string };

/** A family's figure is only as well known as the least known one it was taken from. */
function combined<Value>(value: Value, from: readonly Figure[], word: string): Sourced<Value> {
  const known = from.every((f) => f.figure.known === 'read') ? 'read' : 'memory';
  return { value, known, source: `${word} of ${from.map((f) => f.of).join(', ')}` };
}

/** The outermost of one numeric figure, with the member that sets it as its source. */
function outermost(
  members: readonly RealPart[],
  pick: (p: RealPart) => Sourced<number>,
  which: 'smallest' | 'largest',
) {
  const figures = members.map((m) => ({ figure: pick(m), of: m.name }));
  const value = Math[which === 'smallest' ? 'min' : 'max'](...figures.map((f) => f.figure.value));
  const setter = figures.find((f) => f.figure.value === value)!;
  return {
    value,
    known: setter.figure.known,
    source: `${setter.of}: ${setter.figure.source}`,
  } satisfies Sourced<number>;
}

/** As `outermost`, over the members that have the figure at all. */
function outermostGiven(
  members: readonly RealPart[],
  pick: (p: RealPart) => Sourced<number> | null,
): Sourced<number> | null {
  const having = members.filter((m) => pick(m) !== null);
  return having.length === 0 ? null : outermost(having, (m) => pick(m)!, 'largest');
}

/** The timing that satisfies every member: longest minima, shortest maximum. */
function cautiousWrite(members: readonly RealPart[]): Sourced<WriteTiming> {
  const timings = members.map((m) => m.write.value);
  const longest = (pick: (t: WriteTiming) => number): number => Math.max(...timings.map(pick));
  const maxima = timings.map((t) => t.pulseMaxNs).filter((ns) => ns !== null);
  const value: WriteTiming = {
    addressSetupNs: longest((t) => t.addressSetupNs),
    addressHoldNs: longest((t) => t.addressHoldNs),
    dataSetupNs: longest((t) => t.dataSetupNs),
    dataHoldNs: longest((t) => t.dataHoldNs),
    pulseMinNs: longest((t) => t.pulseMinNs),
    pulseMaxNs: maxima.length === 0 ? null : Math.min(...maxima),
    pulseHighNs: longest((t) => t.pulseHighNs),
  };
  const from = members.map((m) => ({ figure: m.write, of: m.name }));
  return combined(value, from, 'longest minima and shortest maximum');
}

function familyRow(name: string, members: readonly RealPart[]): Part {
  const first = members[0]!;
  const of = (pick: (p: RealPart) => Sourced<unknown>) => members.map((m) => ({ figure: pick(m), of: m.name }));
  const all = (test: (p: RealPart) => boolean): boolean => members.every(test);
  return {
    name,
    maker: 'any',
    members: members.map((m) => m.name),
    cells: first.cells,
    addressLines: first.addressLines,
    pins: first.pins,
    pageBytes: outermost(members, (m) => m.pageBytes, 'smallest'),
    cycleMaxUs: outermost(members, (m) => m.cycleMaxUs, 'largest'),
    cycleTypicalUs: outermostGiven(members, (m) => m.cycleTypicalUs),
    // The longest window: this figure tells from when on a chip is surely busy. A member with page mode waits it out
    // even when it is written cell by cell.
    loadWindowMaxUs: outermostGiven(members, (m) => m.loadWindowMaxUs),
    protection: combined(
      all((m) => m.protection.value),
      of((m) => m.protection),
      'codes only where all have them',
    ),
    polling: combined(
      all((m) => m.polling.value === 'toggle') ? 'toggle' : all((m) => m.polling.value !== 'limit') ? 'data' : 'limit',
      of((m) => m.polling),
      'what all can do',
    ),
    accessNs: outermost(members, (m) => m.accessNs, 'largest'),
    write: cautiousWrite(members),
    endurance: outermost(members, (m) => m.endurance, 'smallest'),
  };
}

/** The family rows over these real parts. */
export function familiesOf(realParts: readonly RealPart[]): readonly Part[] {
  const byName = new Map(realParts.map((p) => [p.name, p]));
  return Object.entries(memberNames).map(([family, names]) =>
    familyRow(
      family,
      names.map((n) => byName.get(n)!),
    ),
  );
}
