// What a strict bench reports when the writer breaks a rule of a data sheet, by name and cycle.

/** Every rule that the bench watches, and what breaking it means. */
const rules = {
  'bus-contention': 'the writer drives a data line while the chip drives it',
  'write-pulse-too-short': 'the write pulse is shorter than the data sheet asks',
  'write-pulse-too-long': 'the write pulse is longer than the data sheet allows',
  'write-pulse-high-too-short': '/WE was high for too short a time between two pulses',
  'address-setup-too-short': 'the address was not stable long enough before the write pulse',
  'address-hold-too-short': 'the address changed too soon after the write pulse began',
  'data-setup-too-short': 'the data was not stable long enough before the write pulse ended',
  'data-hold-too-short': 'the data changed too soon after the write pulse ended',
  'write-with-undriven-data': 'a write pulse ended while the writer did not drive all data lines',
  'write-broken-off': '/OE went low inside a write pulse',
  'write-with-outputs-on': '/WE went low while /OE was low',
  'byte-load-outside-window': 'a byte was loaded after the load window of its page had closed',
  'byte-load-outside-page': 'a byte was loaded to another page than the ones before it',
  'write-while-busy': 'a write pulse came while the chip was in its write cycle',
  'write-after-power-up': 'a write pulse came within 5 ms of power-up',
  'read-before-access-time': 'the data lines were sampled before the chip had put valid data on them',
  'latch-while-shifting': 'an address register was latched while bits were still shifting in',
  'spi-write-collision': 'a byte was handed to the SPI before the one in front had left',
  'spi-clock-edge': 'the SPI mode moves its data on the edge at which the registers take it',
} as const;

export type RuleName = keyof typeof rules;

export interface Violation {
  readonly rule: RuleName;
  /** When, in cycles of the bench. */
  readonly cycle: number;
  /** The facts: nanoseconds found and wanted, addresses. */
  readonly detail: string;
}

/** Takes note of a broken rule. */
export type Report = (rule: RuleName, cycle: number, detail: string) => void;
