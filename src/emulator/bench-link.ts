// A Link to an emulated bench, through the same code that opens real ports.
import type { Link, LinkOptions } from '../link/link.js';
import { openPort } from '../link/open-port.js';
import { type BenchBinding, benchBinding } from './bench-port.js';
import type { EmulatedBench } from './emulated-bench.js';

const bindings = new WeakMap<EmulatedBench, BenchBinding>();

/** The bench's one binding and clock, made at the first call. */
export function bindingOf(bench: EmulatedBench): BenchBinding {
  const known = bindings.get(bench) ?? benchBinding(bench);
  bindings.set(bench, known);
  return known;
}

/** Opens the bench's port; `ended` is called once, when it is closed or lost. Its clock is the bench's own. Throws link.missing (cable out) or link.busy (open already). */
export function openBenchLink(
  bench: EmulatedBench,
  options: LinkOptions & { readonly ended?: () => void },
): Promise<Link> {
  const { binding, clock } = bindingOf(bench);
  return openPort({ ...options, path: bench.path, binding, clock });
}
