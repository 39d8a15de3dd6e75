// The bench counts time in cycles of the writer's 16 MHz clock; figures of data sheets are turned into cycles here.

/** Clock of the writer in hertz: a 16 MHz crystal. */
export const clockHz = 16_000_000;

/** Cycles (may be a fraction) in `ns` nanoseconds. */
export const cyclesOfNs = (ns: number): number => (ns * clockHz) / 1e9;
/** Cycles in `us` microseconds. */
export const cyclesOfUs = (us: number): number => (us * clockHz) / 1e6;
/** Cycles in `ms` milliseconds. */
export const cyclesOfMs = (ms: number): number => (ms * clockHz) / 1e3;
/** Milliseconds in `cycles`. */
export const msOfCycles = (cycles: number): number => (cycles * 1e3) / clockHz;
