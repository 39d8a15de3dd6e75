// Progress on standard error: a moving line on a terminal, now and then a plain line elsewhere.
import type { World } from './world.js';

export interface Progress {
  /** `done` of `total` of what `label` names. Cheap to call often. */
  show(label: string, done: number, total: number): void;
  /** A sentence of its own, above the moving line. */
  say(text: string): void;
  /** Takes the moving line away. */
  end(): void;
}

/** Outside a terminal a line at each quarter is enough to see that it lives. */
const plainSteps = 4;
const redrawMs = 50;

export function makeProgress(world: World, quiet: boolean): Progress {
  const { stderr, clock } = world;
  let drawnAt = -redrawMs;
  let line = '';
  let step = '';
  const clear = (): void => {
    if (line !== '') stderr.write(`\r${' '.repeat(line.length)}\r`);
    line = '';
  };
  const draw = (text: string, last: boolean): void => {
    const now = clock.now();
    if (!last && now - drawnAt < redrawMs) return;
    drawnAt = now;
    const next = text.slice(0, stderr.columns - 1);
    stderr.write(`\r${next}${' '.repeat(Math.max(0, line.length - next.length))}`);
    line = next;
  };
  return {
    show(label, done, total) {
      if (quiet || total === 0) return;
      const text = `${label}: ${done} of ${total} (${Math.floor((100 * done) / total)} %)`;
      if (stderr.isTerminal) return draw(text, done === total);
      const reached = `${label} ${Math.floor((plainSteps * done) / total)}`;
      if (reached === step || done < total / plainSteps) return;
      step = reached;
      stderr.write(`${text}\n`);
    },
    say(text) {
      if (quiet) return;
      clear();
      stderr.write(`${text}\n`);
    },
    end: clear,
  };
}
