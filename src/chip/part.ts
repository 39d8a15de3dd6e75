// What the tool knows of one parallel EEPROM part: the shape of a row of the chip table.

/** How a figure is known: read in the named source, or from memory of it and not re-read. */
export interface Sourced<Value> {
  readonly value: Value;
  /** Document and place, as published. */
  readonly source: string;
  readonly known: 'read' | 'memory';
}

/** How the end of a write cycle is found (firmware-protocol.md, `chip`, field poll). */
export type Polling = 'limit' | 'data' | 'toggle';

export interface Part {
  /** The name as printed on the part, or a family name such as 28C256. */
  readonly name: string;
  readonly maker: string;
  /** A family row takes the most cautious figure of these parts; null on a real part. */
  readonly members: readonly string[] | null;
  /** Cells (bytes), a power of two. */
  readonly cells: number;
  readonly addressLines: number;
  readonly pins: 24 | 28 | 32;
  /** Bytes that one internal write cycle takes; 1 where there is no page mode. */
  readonly pageBytes: Sourced<number>;
  /** Longest write cycle, microseconds. */
  readonly cycleMaxUs: Sourced<number>;
  /** Typical write cycle, microseconds, where a source gives one. */
  readonly cycleTypicalUs: Sourced<number> | null;
  /**
   * Longest time between two loads of a page, microseconds, counted from falling edge to falling edge; null without page
   * mode. A family that is written cell by cell still has it when a member has page mode: the write cycle of that member
   * begins only when the window has passed.
   */
  readonly loadWindowMaxUs: Sourced<number> | null;
  /** Software data protection: has the codes, or has none (then the codes would be ordinary writes). */
  readonly protection: Sourced<boolean>;
  readonly polling: Sourced<Polling>;
  /** Slowest read access time of any grade that the row covers, nanoseconds. */
  readonly accessNs: Sourced<number>;
  /** Write cycle minima and maxima at the pins, nanoseconds; longest pulse null where none is given. */
  readonly write: Sourced<WriteTiming>;
  /** Write cycles a cell is specified for. */
  readonly endurance: Sourced<number>;
}

export interface WriteTiming {
  readonly addressSetupNs: number;
  readonly addressHoldNs: number;
  readonly dataSetupNs: number;
  readonly dataHoldNs: number;
  readonly pulseMinNs: number;
  readonly pulseMaxNs: number | null;
  /** Shortest time /WE is high between two loads of a page; 0 where not given. */
  readonly pulseHighNs: number;
}
