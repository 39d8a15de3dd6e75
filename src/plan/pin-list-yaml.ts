// Pin lists as a plan writes them, from what every pin carries: for wiring that turned out otherwise than planned.
import { writePins } from './pin-list.js';
import type { AddressPin, DataPin } from './rom.js';

/** `key: pins` lines, keys in the order of their first pin; bits that do not run from 0 up are named one by one. */
function lines(bits: ReadonlyMap<string, readonly { bit: number | null; pin: string }[]>, indent: string): string {
  return [...bits]
    .flatMap(([name, list]) => {
      const sorted = list.some((b) => b.bit === null) ? list : [...list].sort((a, b) => a.bit! - b.bit!);
      const whole = sorted.every((b, i) => b.bit === null || b.bit === i);
      const written = (pins: readonly string[]): string => (pins.length === 1 ? pins[0]! : `[${writePins(pins)}]`);
      if (whole) return [`${indent}  ${name}: ${written(sorted.map((b) => b.pin))}`];
      return sorted.map((b) => `${indent}  ${name}.${b.bit}: ${b.pin}`);
    })
    .join('\n');
}

/** The `address` and `data` parts of a ROM, as YAML text indented by `indent`. */
export function pinListYaml(address: readonly AddressPin[], data: readonly DataPin[], indent = '    '): string {
  const inputs = new Map<string, { bit: number | null; pin: string }[]>();
  const outputs = new Map<string, { bit: number | null; pin: string }[]>();
  const add = (to: typeof inputs, name: string, bit: number | null, pin: string): void => {
    const there = to.get(name) ?? [];
    // A bit that leaves on a further pin needs a key of its own there.
    if (bit !== null && there.some((b) => b.bit === bit)) to.set(`${name}.${bit}..${bit}`, [{ bit: null, pin }]);
    else to.set(name, [...there, { bit, pin }]);
  };
  for (const [line, pin] of address.entries()) {
    if (pin.kind === 'field') add(inputs, pin.field, pin.bit, `${pin.inverted ? '/' : ''}A${line}`);
    else add(inputs, pin.kind === 'unused' ? 'unused' : pin.level ? 'high' : 'low', null, `A${line}`);
  }
  for (const [line, sources] of data.entries()) {
    for (const { output, bit, activeLow } of sources) add(outputs, output, bit, `${activeLow ? '/' : ''}D${line}`);
    if (sources.length === 0) add(outputs, 'unused', null, `D${line}`);
  }
  return [`${indent}address:`, lines(inputs, indent), `${indent}data:`, lines(outputs, indent)].join('\n');
}
