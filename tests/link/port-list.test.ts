import { chmodSync, mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { listPorts, sysfsPorts } from '../../src/link/port-list.js';

let root: string;
const oldPath = process.env.PATH;
beforeEach(() => {
  root = mkdtempSync(join(tmpdir(), 'romkiln-ports-'));
});
afterEach(() => {
  process.env.PATH = oldPath;
  rmSync(root, { recursive: true });
});

const put = (path: string, text = '') => {
  mkdirSync(join(root, path, '..'), { recursive: true });
  writeFileSync(join(root, path), text);
};
const join2 = (path: string, target: string) => {
  mkdirSync(join(root, path, '..'), { recursive: true });
  symlinkSync(join(root, target), join(root, path));
};
/** Puts a program named udevadm in front of all others, or takes all programs away. */
const udevadm = (script: string | null) => {
  if (script !== null) {
    put('bin/udevadm', `#!/bin/sh\n${script}\n`);
    chmodSync(join(root, 'bin/udevadm'), 0o755);
  }
  process.env.PATH = script === null ? join(root, 'empty') : `${join(root, 'bin')}:${oldPath}`;
};

describe.skipIf(process.platform !== 'linux')('the list of ports', () => {
  it('when udevadm tells of ports then they are listed', async () => {
    udevadm(
      `printf 'P: x\\nN: ttyUSB7\\nE: DEVNAME=/dev/ttyUSB7\\nE: ID_VENDOR_ID=1a86\\nE: ID_MODEL_ID=7523\\nE: DEVLINKS=/dev/serial/by-id/usb-some\\n'`,
    );
    const list = await listPorts();
    expect(list).toEqual({
      via: 'library',
      ports: [
        {
          path: '/dev/ttyUSB7',
          vendorId: '1a86',
          productId: '7523',
          serialNumber: null,
          manufacturer: null,
          stablePath: '/dev/serial/by-id/usb-some',
        },
      ],
    });
  });

  it('when udevadm is missing, fails or tells nothing then /sys is read', async () => {
    for (const script of [null, 'exit 1', 'exit 0', 'kill -9 $$']) {
      udevadm(script);
      expect((await listPorts()).via).toBe('sysfs');
    }
  });

  it('when udevadm hangs then it is given up after the limit', async () => {
    udevadm('exec sleep 2');
    let limit = 0;
    // Its time comes at once: the test does not wait for it.
    const clock = {
      now: () => 0,
      after(ms: number, callback: () => void) {
        limit = ms;
        queueMicrotask(callback);
        return () => {};
      },
    };
    expect((await listPorts({ clock })).via).toBe('sysfs');
    expect(limit).toBe(3000);
  });
});

describe.skipIf(process.platform === 'win32')('the ports in /sys', () => {
  it('when a USB port, a real and an empty PC port and a console are there then the first two are listed', async () => {
    const adapter = 'sys/devices/usb1/1-2';
    put(`${adapter}/idVendor`, '1a86\n');
    put(`${adapter}/idProduct`, '7523\n');
    put(`${adapter}/manufacturer`, 'QinHeng\n');
    put(`${adapter}/1-2:1.0/ttyUSB0/x`);
    join2('sys/class/tty/ttyUSB0/device', `${adapter}/1-2:1.0/ttyUSB0`);
    for (const [name, type] of [
      ['ttyS0', '4'],
      ['ttyS1', '0'],
    ] as const) {
      put(`sys/devices/platform/${name}/x`);
      put('sys/bus/platform/drivers/serial8250/x');
      join2(`sys/devices/platform/${name}/driver`, 'sys/bus/platform/drivers/serial8250');
      put(`sys/class/tty/${name}/type`, `${type}\n`);
      join2(`sys/class/tty/${name}/device`, `sys/devices/platform/${name}`);
    }
    put('sys/class/tty/console/x');
    put('dev/ttyUSB0');
    join2('dev/serial/by-id/usb-1a86-port0', 'dev/ttyUSB0');
    const none = { vendorId: null, productId: null, serialNumber: null, manufacturer: null, stablePath: null };
    expect(await sysfsPorts(root)).toEqual([
      { ...none, path: '/dev/ttyS0' },
      {
        path: '/dev/ttyUSB0',
        vendorId: '1a86',
        productId: '7523',
        serialNumber: null,
        manufacturer: 'QinHeng',
        stablePath: '/dev/serial/by-id/usb-1a86-port0',
      },
    ]);
  });

  it('when nothing can be read then the list is empty', async () => {
    expect(await sysfsPorts(join(root, 'nowhere'))).toEqual([]);
  });
});
