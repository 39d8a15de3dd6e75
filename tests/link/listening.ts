// A listener that writes down what it hears, and waits.
import type { Link } from '../../src/link/link.js';

export interface Heard {
  readonly lines: string[];
  overlong: number;
  /** Reasons handed to `closed`, in order. */
  readonly closed: (Error | null)[];
  /** Resolves as soon as the condition holds; looks again at everything that is heard. */
  until(condition: () => boolean): Promise<void>;
}

export function listening(link: Link): Heard {
  const waiting = new Set<() => void>();
  const wake = () => {
    for (const look of waiting) look();
  };
  const heard: Heard = {
    lines: [],
    overlong: 0,
    closed: [],
    until: (condition) =>
      new Promise((resolve) => {
        const look = () => {
          if (!condition()) return;
          waiting.delete(look);
          resolve();
        };
        waiting.add(look);
        look();
      }),
  };
  link.listen({
    line: (text) => {
      heard.lines.push(text);
      wake();
    },
    overlong: () => {
      heard.overlong++;
      wake();
    },
    closed: (reason) => {
      heard.closed.push(reason);
      wake();
    },
  });
  return heard;
}
