// A serial boot loader of ATmega328P boards, found on a port and spoken with.
// The protocol: Atmel application note AVR061, "STK500 Communication Protocol", version 1, of which these loaders know a part.
import { ToolError } from '../ground/errors.js';
import type { Link, OpenLink } from '../link/link.js';

/** Bytes of the protocol (AVR061, command.h). */
const inSync = 0x14;
const ok = 0x10;
const endOfCommand = 0x20;
const command = {
  getSync: 0x30,
  leave: 0x51,
  loadAddress: 0x55,
  programPage: 0x64,
  readPage: 0x74,
  readSignature: 0x75,
} as const;
const flashMemory = 0x46;

/** What one command programs, and what the flash of an ATmega328P erases at once (its data sheet, Self-Programming). */
export const flashPageBytes = 128;

/** The rates of the loaders that boards come with: the newer one's, then the older one's. */
export const loaderRates = [115200, 57600] as const;

/** The loader blinks a lamp first, for up to 400 ms, and keeps two characters meanwhile: so it is asked once, and waited for. */
const firstAnswerMs = 700;
const answerMs = 500;
/** A page is erased and programmed in about 9 ms (ATmega328P data sheet); the rest is for adapters and a busy host. */
const pageMs = 1000;

export class BootLoader {
  #heard: number[] = [];
  #wake: (() => void) | null = null;
  #closed = false;

  constructor(
    readonly link: Link,
    readonly baud: number,
  ) {
    link.listen({
      bytes: (bytes) => {
        this.#heard.push(...bytes);
        this.#wake?.();
      },
      line() {},
      overlong() {},
      closed: () => {
        this.#closed = true;
        this.#wake?.();
      },
    });
  }

  /** Says a command and waits for `count` bytes between the marks of its answer; null where they do not come in time. */
  async #ask(bytes: readonly number[], count: number, withinMs: number): Promise<Uint8Array | null> {
    this.#heard = [];
    await this.link.send(String.fromCharCode(...bytes, endOfCommand));
    const transferMs = ((bytes.length + count + 3) * 10_000) / this.baud;
    await this.#waitFor(count + 2, withinMs + transferMs);
    // What a starting board said may stand in front of it.
    const begin = this.#heard.length - count - 2;
    const answer = this.#heard.slice(begin);
    const isGood = begin >= 0 && answer[0] === inSync && answer.at(-1) === ok;
    return isGood ? Uint8Array.from(answer.slice(1, -1)) : null;
  }

  #waitFor(count: number, ms: number): Promise<void> {
    return new Promise((resolve) => {
      const done = (): void => {
        this.#wake = null;
        cancel();
        resolve();
      };
      const cancel = this.link.clock.after(ms, done);
      this.#wake = () => {
        const isWhole = this.#heard.length >= count && this.#heard.at(-1) === ok;
        if (this.#closed || isWhole) done();
      };
    });
  }

  /** Is a boot loader there? */
  async answers(): Promise<boolean> {
    for (const ms of [firstAnswerMs, answerMs]) if (await this.#ask([command.getSync], 0, ms)) return true;
    return false;
  }

  async #demand(step: string, bytes: readonly number[], count: number, ms = answerMs): Promise<Uint8Array> {
    const answer = await this.#ask(bytes, count, ms);
    if (answer === null) throw new ToolError('loader.lost', { path: this.link.path, step });
    return answer;
  }

  /** The three bytes by which a microcontroller tells what it is. */
  signature(): Promise<Uint8Array> {
    return this.#demand('asked for its signature', [command.readSignature], 3);
  }

  async #address(step: string, address: number): Promise<void> {
    const word = address / 2;
    await this.#demand(step, [command.loadAddress, word & 0xff, word >> 8], 0);
  }

  async programPage(address: number, bytes: Uint8Array, step: string): Promise<void> {
    await this.#address(step, address);
    await this.#demand(step, [command.programPage, 0, bytes.length, flashMemory, ...bytes], 0, pageMs);
  }

  async readPage(address: number, step: string): Promise<Uint8Array> {
    await this.#address(step, address);
    return this.#demand(step, [command.readPage, 0, flashPageBytes, flashMemory], flashPageBytes);
  }

  /** The loader may start the program at once, and need not answer any more. */
  async leave(): Promise<void> {
    await this.#ask([command.leave], 0, answerMs);
  }
}

/**
 * Opens the port at each rate in turn, which resets the board, and asks for the loader. Resolves with the one that answered,
 * its port open, or with null when none did.
 */
export async function findBootLoader(open: OpenLink, path: string): Promise<BootLoader | null> {
  for (const baud of loaderRates) {
    const link = await open(path, { baud, lineMax: 1024 });
    try {
      await link.restartBoard?.();
      const loader = new BootLoader(link, baud);
      if (await loader.answers()) return loader;
    } catch (error) {
      await link.close();
      throw error;
    }
    await link.close();
  }
  return null;
}
