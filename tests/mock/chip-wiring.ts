// The lines between the mock writer and its chip, with their faults: what a pattern becomes on its way.
import { linesOf, type WiringFault } from '../../src/chip/wiring-fault.js';
import type { Random } from '../../src/ground/random.js';

export interface ChipWiring {
  /** The address that the chip sees. */
  address(wanted: number): number;
  /** What a byte becomes between writer and chip, either way. An open data line carries the receiver's last charge. */
  data(sent: number, charge: number, way: 'to-chip' | 'to-writer'): number;
  /** What the writer's own data lines carry when nobody else drives: stuck and joined lines have their own mind. */
  own(levels: number): number;
}

export function chipWiring(faults: readonly WiringFault[], random: Random): ChipWiring {
  // An open address line reads a level of its own at the chip, the same one all the time.
  const levels = random.below(1 << 24);
  const ofKind = (letter: string): WiringFault[] => faults.filter((fault) => linesOf(fault)[0]!.startsWith(letter));
  const addressFaults = ofKind('A');
  const dataFaults = ofKind('D');
  const dataFaultsBack = [...dataFaults].reverse();
  const overruling = dataFaults.filter(({ kind }) => kind === 'stuck' || kind === 'shorted');
  return {
    own: (driven) => through(overruling, driven, levels),
    address: (wanted) => through(addressFaults, wanted, levels),
    data: (sent, charge, way) => through(way === 'to-chip' ? dataFaults : dataFaultsBack, sent, charge),
  };
}

/** A pattern after the faults, one after the other. `own` holds the levels that open lines have. */
const through = (faults: readonly WiringFault[], pattern: number, own: number): number =>
  faults.reduce((levels, fault) => afterFault(fault, levels, own), pattern);

function afterFault(fault: WiringFault, levels: number, own: number): number {
  const bits = linesOf(fault).map((line) => Number(line.slice(1)));
  const [first, second] = bits as [number, number];
  const at = (bit: number): number => (levels >> bit) & 1;
  const withBit = (value: number, bit: number, level: number): number => (value & ~(1 << bit)) | ((level & 1) << bit);
  switch (fault.kind) {
    case 'open':
      return withBit(levels, first, own >> first);
    case 'stuck':
      return withBit(levels, first, fault.level);
    case 'inverted':
      return levels ^ (1 << first);
    case 'crossed':
      return withBit(withBit(levels, first, at(second)), second, at(first));
    case 'shorted': {
      const both = fault.wins === 'low' ? at(first) & at(second) : at(first) | at(second);
      return withBit(withBit(levels, first, both), second, both);
    }
  }
}
