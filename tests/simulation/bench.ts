// What the simulation needs of a bench, whichever writer stands on it: the mock in TypeScript, or the real firmware emulated.
import type { Clock } from '../../src/ground/clock.js';
import type { OpenLink } from '../../src/link/link.js';
import type { RunSize } from './trouble.js';

export interface Bench {
  readonly open: OpenLink;
  readonly clock: Clock;
  /** What the chip's cells truly hold: as many as the chip truly has. A copy. */
  truth(): Uint8Array;
  /** What went by since the bench was made: the measures in which mishaps are placed. */
  size(): RunSize;
  /** Ends everything that passes: cable in, power on, writer running, the right firmware in it, and nothing on its way. */
  lift(): Promise<void>;
  /** Puts the cable back, as a person does before the next command, and lets what was going on come to its end. */
  replug(): Promise<void>;
  /** How often each cell was written, and whether the chip is write-protected; null where the bench does not tell. */
  ofChip(): { readonly wear: Uint32Array; readonly isProtected: boolean } | null;
  /** Rules of data sheets that the writer broke, where the bench can see it. */
  violations(): readonly string[];
}

/** Lines that the host sent, counted over all commands of a run. */
export interface HostLines {
  count: number;
  /** Called as a line is handed over. False: the process was killed over it, and the line never leaves. */
  sent(): boolean;
}

const never = new Promise<never>(() => {});

/** The same opener, with the lines that the host sends counted. */
export const countingLines =
  (open: OpenLink, lines: HostLines): OpenLink =>
  async (path, options) => {
    const link = await open(path, options);
    const send = link.send.bind(link);
    link.send = (text) => {
      for (const character of text)
        if (character === '\n') {
          lines.count++;
          if (!lines.sent()) {
            // The system closes what the process had open.
            void link.close();
            return never;
          }
        }
      return send(text);
    };
    return link;
  };

/** Time between two commands: the chip finishes what it was doing. */
export const betweenMs = 300;
