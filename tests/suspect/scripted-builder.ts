// What a builder sees who looks at a circuit with faults.
import type { WiringFault } from '../../src/chip/wiring-fault.js';
import { type Circuit, hypothesisOf, type Question, type Sight, sightOf } from '../../src/suspect/circuit.js';
import type { OpenLevel } from '../../src/suspect/line-map.js';
import { soundWiring, wiringOf } from '../../src/suspect/wiring.js';

/** What the circuit shows at a setting. Where lines are open, an address line floats high, and a data line low, which lights nothing unless the output is active low. */
export const observe = (
  circuit: Circuit,
  faults: readonly WiringFault[],
  question: Question,
  openLevel: OpenLevel = (line) => (line.startsWith('A') ? 1 : 0),
): Sight => {
  const wiring = wiringOf(faults, openLevel);
  return sightOf(circuit, hypothesisOf(faults, wiring ?? soundWiring), question);
};
