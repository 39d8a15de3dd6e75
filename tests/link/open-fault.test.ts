import { chmodSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { ToolError } from '../../src/ground/errors.js';
import { deniedFault, faultBeforeOpening, faultOfOpening } from '../../src/link/open-fault.js';

const folder = mkdtempSync(join(tmpdir(), 'romkiln-fault-'));
afterAll(() => rmSync(folder, { recursive: true }));

describe('why a port cannot be opened', () => {
  // The texts of @serialport/bindings-cpp 13.0.0: Linux ones measured, Windows ones read in its source.
  it.each([
    ['Error: No such file or directory, cannot open /dev/ttyUSB9', 'link.missing'],
    ['Error: Inappropriate ioctl for device setting custom baud rate of 9600', 'link.not-a-port'],
    ['Error: Is a directory, cannot open /dev', 'link.not-a-port'],
    ['Error Resource temporarily unavailable Cannot lock port', 'link.busy'],
    ['Opening COM3: File not found', 'link.missing'],
    ['Opening COM3: Access denied', 'link.busy'],
    ['Opening COM3: Unknown error code 31', 'link.failed'],
  ] as const)('when the binding says "%s" then it is %s', async (text, code) => {
    const fault = await faultOfOpening('/dev/ttyUSB9', new Error(text));
    expect(fault).toMatchObject({ code, exit: 3 });
    expect(fault.message).toContain('/dev/ttyUSB9');
  });

  it('when the group may use the port then the note says which to join and how', async () => {
    const path = join(folder, 'node');
    writeFileSync(path, '');
    chmodSync(path, 0o660);
    const fault = await deniedFault(path);
    expect(fault.message).toBe(`You may not open ${path}: it belongs to root:root.`);
    expect(fault.note).toContain('sudo usermod -aG root "$USER"');
    chmodSync(path, 0o600);
    expect((await deniedFault(path)).note).not.toContain('usermod');
  });

  it('when nothing is there, or no terminal, then that is found before anything is touched', async () => {
    expect(await faultBeforeOpening(join(folder, 'none'))).toMatchObject({ code: 'link.missing' });
    expect(await faultBeforeOpening(folder)).toMatchObject({ code: 'link.not-a-port' });
    expect(await faultBeforeOpening('/dev/null')).toBeNull();
  });

  it('when the error is ours already then it stays as it is', async () => {
    const ours = new ToolError('link.gone', { path: 'x' });
    expect(await faultOfOpening('x', ours)).toBe(ours);
  });
});
