// Talks to the real firmware on a bench in plain protocol lines, without the host's own machinery in between.
import { readFileSync } from 'node:fs';
import { findPart } from '../../src/chip/chip-table.js';
import { openBenchLink } from '../../src/emulator/bench-link.js';
import { type BenchState, type NewBench, newBenchState } from '../../src/emulator/bench-state.js';
import { type BenchOptions, EmulatedBench } from '../../src/emulator/emulated-bench.js';
import { base64OfBytes, hex } from '../../src/ground/byte-text.js';
import type { Link } from '../../src/link/link.js';
import { withCheck } from '../../src/protocol/line.js';

export const firmware = readFileSync(new URL('../../firmware/romkiln-writer.hex', import.meta.url), 'latin1');

export function firmwareBench(
  partName: string,
  options: Partial<NewBench> = {},
  more: Partial<BenchOptions> = {},
): EmulatedBench {
  const state = newBenchState({ part: findPart(partName), ...options });
  return benchOf(state, more);
}

export const benchOf = (state: BenchState, more: Partial<BenchOptions> = {}): EmulatedBench =>
  new EmulatedBench({ state, firmware, ...more });

export class FirmwareTalk {
  /** Set when the port is gone. */
  gone = false;
  #seq = 0;
  readonly #lines: string[] = [];
  #wake: (() => void) | null = null;

  constructor(readonly link: Link) {
    const wake = () => this.#wake?.();
    link.listen({
      line: (text) => {
        this.#lines.push(text);
        wake();
      },
      overlong() {},
      closed: () => {
        this.gone = true;
        wake();
      },
    });
  }

  /** The next line without its check sequence; null when none comes in `limitMs`, or the port is gone. */
  async line(limitMs = 1000): Promise<string | null> {
    if (this.#lines.length === 0 && !this.gone) {
      await new Promise<void>((resolve) => {
        const cancel = this.link.clock.after(limitMs, resolve);
        this.#wake = () => {
          cancel();
          resolve();
        };
      });
      this.#wake = null;
    }
    return this.#lines.shift()?.replace(/ [0-9A-F]{4}$/, '') ?? null;
  }

  /** Sends a request and gives its answer without number and check sequence. */
  async ask(request: string, limitMs = 1000): Promise<string | null> {
    await this.send(request);
    return (await this.line(limitMs))?.slice(3) ?? null;
  }

  async send(request: string): Promise<void> {
    this.#seq = (this.#seq % 255) + 1;
    await this.link.send(withCheck(`${hex(this.#seq)} ${request}`)).catch(() => {});
  }

  /** Writes bytes from `address` on in blocks of `block`, up to `slots` outstanding; the answers. */
  async write(address: number, bytes: Uint8Array, block: number, slots: number): Promise<(string | null)[]> {
    const answers: (string | null)[] = [];
    let outstanding = 0;
    const take = async () => {
      answers.push((await this.line(2000))?.slice(3) ?? null);
      outstanding--;
    };
    for (let at = 0; at < bytes.length && !this.gone; at += block) {
      await this.send(`write ${hex(address + at, 1)} ${base64OfBytes(bytes.subarray(at, at + block))}`);
      if (++outstanding === slots) await take();
    }
    while (outstanding > 0) await take();
    return answers;
  }
}

/** Opens the bench, hears the greeting, and chooses the chip as its row says. */
export async function talkTo(bench: EmulatedBench): Promise<FirmwareTalk> {
  const talk = new FirmwareTalk(await openBenchLink(bench, { baud: 115_200, lineMax: 400 }));
  const greeting = await talk.line(500);
  if (!greeting?.startsWith('00 writer ')) throw new Error(`no greeting: ${greeting}`);
  const { part } = bench.state;
  const page = part.pageBytes.value;
  const polling = { limit: 0, data: 1, toggle: 2 }[part.polling.value];
  const numbers = [part.cells, page, part.cycleMaxUs.value, page > 1 ? (part.loadWindowMaxUs?.value ?? 0) : 0, polling];
  const chosen = await talk.ask(`chip ${numbers.map((n) => hex(n, 1)).join(' ')} ${part.protection.value ? 1 : 0}`);
  if (chosen !== 'ok') throw new Error(`chip was answered ${chosen}`);
  return talk;
}

/** Goes to 500 000 baud. */
export async function goFast(talk: FirmwareTalk): Promise<void> {
  await talk.ask('rate 7A120');
  await talk.link.setRate(500_000);
}
