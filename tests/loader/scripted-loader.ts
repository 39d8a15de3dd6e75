// A boot loader made of a few lines, from AVR061 alone: what it is told to be, and what it does wrong on order.
import type { Link, LinkListener, OpenLink } from '../../src/link/link.js';

export interface LoaderScript {
  readonly baud: number;
  readonly signature?: readonly number[];
  /** Answers so many commands and then none. */
  readonly answersMost?: number;
  /** A cell of the flash that takes no byte. */
  readonly worn?: number;
}

export interface ScriptedLoader {
  readonly open: OpenLink;
  readonly flash: Uint8Array;
  /** Every page that was programmed: its address, and its first two bytes. */
  readonly programmed: (readonly [number, number, number])[];
  readonly opened: { readonly baud: number; isOpen: boolean }[];
}

export function scriptedLoader(script: LoaderScript): ScriptedLoader {
  const flash = new Uint8Array(32768).fill(0xff);
  const programmed: [number, number, number][] = [];
  const opened: { baud: number; isOpen: boolean }[] = [];
  let address = 0;
  let answered = 0;

  const answerTo = (bytes: Uint8Array): readonly number[] => {
    if (bytes.at(-1) !== 0x20 || answered++ >= (script.answersMost ?? Infinity)) return [];
    const framed = (inside: Iterable<number> = []): number[] => [0x14, ...inside, 0x10];
    switch (String.fromCharCode(bytes[0]!)) {
      case '0':
      case 'Q':
        return framed();
      case 'u':
        return framed(script.signature ?? [0x1e, 0x95, 0x0f]);
      case 'U':
        address = 2 * (bytes[1]! + 256 * bytes[2]!);
        return framed();
      case 'd':
        flash.set(bytes.subarray(4, 4 + 256 * bytes[1]! + bytes[2]!), address);
        if (script.worn !== undefined) flash[script.worn] = 0xff;
        programmed.push([address, bytes[4]!, bytes[5]!]);
        return framed();
      case 't':
        return framed(flash.subarray(address, address + 256 * bytes[1]! + bytes[2]!));
      default:
        return [];
    }
  };

  const open: OpenLink = async (path, { baud }) => {
    const port = { baud, isOpen: true };
    opened.push(port);
    let listener: LinkListener | null = null;
    let now = 0;
    const link: Link = {
      path,
      // Nobody waits longer than until everything has happened that was going to.
      clock: {
        now: () => now,
        after(ms, callback) {
          const timer = setImmediate(() => {
            now += ms;
            callback();
          });
          return () => clearImmediate(timer);
        },
      },
      async send(text) {
        if (baud === script.baud) listener?.bytes?.(Uint8Array.from(answerTo(Buffer.from(text, 'latin1'))));
      },
      listen(next) {
        listener = next;
      },
      async setRate() {},
      async close() {
        port.isOpen = false;
      },
    };
    return link;
  };
  return { open, flash, programmed, opened };
}
