// Which serial ports there are: asked of the serial library, or read from /sys where that cannot tell.
import { readdir, readFile, readlink, realpath } from 'node:fs/promises';
import type { Clock } from '../ground/clock.js';
import { ToolError } from '../ground/errors.js';
import { realClock } from './real-clock.js';

export interface FoundPort {
  readonly path: string;
  /** USB vendor and product, four hexadecimal digits each; null where the port is no USB device. */
  readonly vendorId: string | null;
  readonly productId: string | null;
  readonly serialNumber: string | null;
  readonly manufacturer: string | null;
  /** A path that names the same adapter after it was plugged in elsewhere; null where there is none. */
  readonly stablePath: string | null;
}

export interface PortList {
  readonly ports: readonly FoundPort[];
  /** `library`: the serial library asked the system; `sysfs`: it could not (on Linux it needs udevadm), and /sys was read. */
  readonly via: 'library' | 'sysfs';
}

export interface ListOptions {
  readonly clock?: Clock;
  /** How long the library may take. */
  readonly limitMs?: number;
}

/**
 * All serial ports. Never fails on Linux; elsewhere rejects with link.no-listing. The library's own listing fails without
 * udevadm, tells nothing when that fails, and never ends when that hangs.
 */
export async function listPorts({ clock = realClock, limitMs = 3000 }: ListOptions = {}): Promise<PortList> {
  const linux = process.platform === 'linux';
  try {
    const ports = await within(clock, limitMs, libraryPorts());
    if (ports.length > 0 || !linux) return { ports, via: 'library' };
  } catch (error) {
    if (!linux) throw new ToolError('link.no-listing', { reason: (error as Error).message }, { cause: error });
  }
  return { ports: await sysfsPorts(), via: 'sysfs' };
}

// An async function: a listing that throws at once is a rejection like any other.
async function libraryPorts(): Promise<FoundPort[]> {
  const { SerialPort } = await import('serialport');
  const linux = process.platform === 'linux';
  return (await SerialPort.list()).map((p) => ({
    path: p.path,
    vendorId: p.vendorId ?? null,
    productId: p.productId ?? null,
    serialNumber: p.serialNumber ?? null,
    manufacturer: p.manufacturer ?? null,
    stablePath: linux && p.pnpId ? `/dev/serial/by-id/${p.pnpId}` : null,
  }));
}

const within = <T>(clock: Clock, limitMs: number, work: Promise<T>): Promise<T> =>
  new Promise((resolve, reject) => {
    const cancel = clock.after(limitMs, () => reject(new Error('the system did not answer in time')));
    work.then(resolve, reject).finally(cancel);
  });

const textOf = (path: string): Promise<string | null> =>
  readFile(path, 'utf8').then(
    (text) => text.trim(),
    () => null,
  );
const namesIn = (folder: string): Promise<string[]> => readdir(folder).catch(() => []);
const targetOf = (path: string): Promise<string | null> => realpath(path).catch(() => null);

/** The ports that /sys and /dev show below `root`; those with hardware behind them, without the empty sockets of a PC. */
export async function sysfsPorts(root = ''): Promise<FoundPort[]> {
  const stable = new Map<string, string>();
  for (const name of await namesIn(`${root}/dev/serial/by-id`)) {
    const target = await targetOf(`${root}/dev/serial/by-id/${name}`);
    if (target) stable.set(target, `/dev/serial/by-id/${name}`);
  }
  const ports: FoundPort[] = [];
  for (const name of (await namesIn(`${root}/sys/class/tty`)).sort()) {
    const device = await targetOf(`${root}/sys/class/tty/${name}/device`);
    if (!device || (await isUnpopulated(`${root}/sys/class/tty/${name}`, device))) continue;
    const usb = await usbFactsAbove(device);
    ports.push({ path: `/dev/${name}`, ...usb, stablePath: stable.get(`${root}/dev/${name}`) ?? null });
  }
  return ports;
}

/** A PC names four serial ports whether they exist or not; type 0 means that no circuit answered. */
async function isUnpopulated(tty: string, device: string): Promise<boolean> {
  const driver = await readlink(`${device}/driver`).catch(() => '');
  return driver.endsWith('/serial8250') && (await textOf(`${tty}/type`)) === '0';
}

/** The USB facts stand in one of the folders above the tty's device; how far above depends on the driver. */
async function usbFactsAbove(device: string) {
  for (let folder = device, steps = 0; steps < 5; steps++, folder = folder.replace(/\/[^/]*$/, '')) {
    const vendorId = await textOf(`${folder}/idVendor`);
    if (vendorId === null) continue;
    return {
      vendorId,
      productId: await textOf(`${folder}/idProduct`),
      serialNumber: await textOf(`${folder}/serial`),
      manufacturer: await textOf(`${folder}/manufacturer`),
    };
  }
  return { vendorId: null, productId: null, serialNumber: null, manufacturer: null };
}
