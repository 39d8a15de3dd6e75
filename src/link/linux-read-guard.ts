// On Linux the native binding can miss that a device is gone, and then reads nothing for ever at full load. This reads instead.
import { read } from 'node:fs';
import { promisify } from 'node:util';
import type { BindingInterface, BindingPortInterface, LinuxPortBinding } from '@serialport/bindings-cpp';

const readHandle = promisify(read);

/** What tells the stream that the port is being closed by us, and not lost. */
const canceled = (): Error => Object.assign(new Error('Port is not open'), { canceled: true });

/**
 * The same binding, with a read that ends when the device has hung up. A read of no bytes from a terminal with VMIN 1
 * means just that; the binding of version 13.0 takes it as "try again". Measured with a pseudo terminal that is killed
 * while it streams: without this about two of three leave no event and one busy core, with it every one ends in `close`.
 */
export function withReadGuard(binding: BindingInterface): BindingInterface {
  return {
    list: () => binding.list(),
    async open(options) {
      const port = (await binding.open(options)) as LinuxPortBinding;
      port.read = (buffer, offset, length) => guardedRead(port, buffer, offset, length);
      return port satisfies BindingPortInterface;
    },
  };
}

const wouldWait = ['EAGAIN', 'EWOULDBLOCK', 'EINTR'];

async function guardedRead(port: LinuxPortBinding, buffer: Buffer, offset: number, length: number) {
  for (;;) {
    if (port.fd === null) throw canceled();
    try {
      const { bytesRead } = await readHandle(port.fd, buffer, offset, length, null);
      if (bytesRead > 0) return { bytesRead, buffer };
    } catch (error) {
      if (!port.isOpen) throw canceled();
      if (!wouldWait.includes((error as NodeJS.ErrnoException).code ?? '')) throw error;
      await readable(port);
      continue;
    }
    if (!port.isOpen) throw canceled();
    throw Object.assign(new Error('end of file: the device hung up'), { code: 'EIO', disconnect: true });
  }
}

const readable = (port: LinuxPortBinding): Promise<void> =>
  new Promise((resolve, reject) => {
    port.poller.once('readable', (error) => (error ? reject(error) : resolve()));
  });
