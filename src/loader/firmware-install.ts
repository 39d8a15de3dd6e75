// The firmware into a board through its boot loader: every page programmed and read back, in an order that leaves nothing dangerous behind.
import { hex } from '../ground/byte-text.js';
import { ToolError } from '../ground/errors.js';
import { type BootLoader, flashPageBytes } from './boot-loader.js';

/** An ATmega328P (its data sheet, Signature Bytes). */
const signature = Uint8Array.of(0x1e, 0x95, 0x0f);
/** Above this lie the boot loaders; the largest has 2 KiB. */
const loaderFrom = 0x7800;

export interface FirmwarePage {
  readonly address: number;
  readonly bytes: Uint8Array;
}

/** The firmware as whole pages from address 0 on; what it leaves open is FF, as erased flash is. Throws loader.bad-firmware. */
export function pagesOfFirmware(bytes: Uint8Array, isDefined: (address: number) => boolean): readonly FirmwarePage[] {
  const fault = (why: string): ToolError => new ToolError('loader.bad-firmware', { why });
  if (bytes.length === 0 || !isDefined(0)) throw fault('it does not begin at address 0');
  if (bytes.length > loaderFrom) throw fault(`it reaches to ${hex(bytes.length - 1, 4)}, where the boot loader is`);
  const pages: FirmwarePage[] = [];
  for (let address = 0; address < bytes.length; address += flashPageBytes) {
    const page = new Uint8Array(flashPageBytes).fill(0xff);
    page.set(bytes.subarray(address, address + flashPageBytes));
    pages.push({ address, bytes: page });
  }
  return pages;
}

const text = (bytes: Uint8Array): string => [...bytes].map((byte) => hex(byte)).join(' ');

/** Throws loader.other-part where the microcontroller is none that the firmware is made for. */
export async function requirePart(loader: BootLoader): Promise<void> {
  const actual = await loader.signature();
  if (text(actual) !== text(signature))
    throw new ToolError('loader.other-part', { path: loader.link.path, wanted: text(signature), actual: text(actual) });
}

const same = (a: Uint8Array, b: Uint8Array): boolean => a.every((byte, i) => byte === b[i]);

/** How many of these pages the flash already holds. */
export async function pagesHeld(
  loader: BootLoader,
  pages: readonly FirmwarePage[],
  onPage: (done: number) => void,
): Promise<number> {
  let held = 0;
  for (const [i, page] of pages.entries()) {
    if (same(await loader.readPage(page.address, `reading page ${i + 1} of ${pages.length}`), page.bytes)) held++;
    onPage(i + 1);
  }
  return held;
}

/** A jump to itself (AVR instruction set, RJMP): a program that does nothing, with every pin an input. */
const standStill = Uint8Array.of(0xff, 0xcf);

/**
 * Programs all pages and reads them back. The first one, where the program begins, holds a jump to itself until all others
 * are right: a board whose installation was broken off stands still, with its pins open, and its boot loader is still there.
 */
export async function installPages(
  loader: BootLoader,
  pages: readonly FirmwarePage[],
  onPage: (done: number) => void,
): Promise<void> {
  const [first, ...others] = pages;
  const still = new Uint8Array(flashPageBytes).fill(0xff);
  still.set(standStill);
  let done = 0;
  for (const { address, bytes } of [{ address: 0, bytes: still }, ...others, first!]) {
    const step = `page ${done} of ${pages.length}`;
    await loader.programPage(address, bytes, `programming ${step}`);
    const actual = await loader.readPage(address, `reading ${step} back`);
    if (!same(actual, bytes)) throw differs(loader, address, bytes, actual);
    onPage(done++);
  }
}

function differs(loader: BootLoader, address: number, wanted: Uint8Array, actual: Uint8Array): ToolError {
  const place = wanted.findIndex((byte, i) => byte !== actual[i]);
  return new ToolError('loader.page-differs', {
    path: loader.link.path,
    from: `0x${hex(address + place, 4)}`,
    wanted: hex(wanted[place]!),
    actual: hex(actual[place]!),
  });
}
