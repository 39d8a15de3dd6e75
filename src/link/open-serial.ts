// Opens a real serial port: own lock first, then the native binding with its guard, then the lines set as far as they go.
import { realpath } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { BindingInterface } from '@serialport/bindings-cpp';
import type { OpenLink } from './link.js';
import { withReadGuard } from './linux-read-guard.js';
import { faultBeforeOpening, faultOfOpening } from './open-fault.js';
import { type OpenPortOptions, openPort } from './open-port.js';
import { lockPort } from './port-lock.js';
import { realClock } from './real-clock.js';

/** Where the locks of all ports lie; one folder for all users of the machine. */
export const lockFolder = (): string => join(tmpdir(), 'romkiln-ports');

/** Opens a port of this machine by its path (`/dev/...`, `COM3`). Expect the board behind it to reset. */
export const openSerial: OpenLink = async (path, options) => {
  const posix = process.platform !== 'win32';
  const fault = posix ? await faultBeforeOpening(path) : null;
  if (fault) throw fault;
  const unlock = await lockPort(lockFolder(), posix ? await realpath(path) : path.toUpperCase(), path);
  try {
    const binding = await nativeBinding();
    return await openPort({
      ...options,
      path,
      binding,
      clock: realClock,
      ended: () => void unlock(),
    } satisfies OpenPortOptions);
  } catch (error) {
    await unlock();
    throw await faultOfOpening(path, error);
  }
};

async function nativeBinding(): Promise<BindingInterface> {
  const { autoDetect } = await import('@serialport/bindings-cpp');
  const native = autoDetect() as BindingInterface;
  return withOpenLines(process.platform === 'linux' ? withReadGuard(native) : native);
}

/** Both lines active as every board expects them, and no 16 ms of waiting in the adapter. Few ports know all of it: best effort. */
const lines = { dtr: true, rts: true, lowLatency: true };

const withOpenLines = (binding: BindingInterface): BindingInterface => ({
  list: () => binding.list(),
  async open(options) {
    const port = await binding.open(options);
    await port.set(lines).catch(() => {});
    return port;
  },
});
