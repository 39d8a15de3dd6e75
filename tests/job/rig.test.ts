import { describe, expect, it } from 'vitest';
import type { WiringFault } from '../../src/chip/wiring-fault.js';
import { tryEmptySocket, trySeatedChip } from '../../src/job/rig.js';
import { seated } from './seated.js';

const bytes = [0x00, 0xff, 0x01, 0x08, 0x10];
const absent = { chip: { faults: [{ kind: 'absent' }] } } as const;
const wired = (...wiring: WiringFault[]) => ({ wiring });
const stuck3: WiringFault = { kind: 'stuck', line: 'D3', level: 1 };

describe('the empty socket', () => {
  it('when nothing is in it then every line follows the charge, and the pull-ups lift every line', async () => {
    const { writer, mock } = await seated(absent);
    const noChip = { pulled: 0xff, followed: 0xff };
    expect(await tryEmptySocket(writer, bytes)).toEqual({ registers: 2, driven: bytes, noChip });
    expect(mock.firmware.hold).toBeNull();
  });

  it('when a chip is in it after all then that is refused, and no wire is blamed', async () => {
    const { writer } = await seated({ registers: 3, ...wired({ kind: 'open', line: 'D4' }) });
    await expect(tryEmptySocket(writer, bytes)).rejects.toMatchObject({ code: 'job.socket-not-empty', exit: 4 });
  });

  it('when the line to the writer is lost then that is said, not taken for an empty socket', async () => {
    const { writer, mock } = await seated(absent);
    writer.park = async () => mock.unplug();
    await expect(tryEmptySocket(writer, bytes)).rejects.toMatchObject({ code: 'link.gone' });
  });
});

describe('a chip that is only looked at', () => {
  it('when it and the wires are sound then every line is driven and carries both levels', async () => {
    const { writer, chip, before, mock } = await seated();
    expect(await trySeatedChip(writer, bytes)).toEqual({ registers: 2, driven: bytes, followed: 0, carriesAll: true });
    expect(chip.cells).toEqual(before);
    expect(mock.firmware.hold).toBeNull();
  });

  it.each<[string, WiringFault, object]>([
    ['D3 stuck at 1', stuck3, { driven: bytes.map((byte) => byte | 0x08), followed: 0, carriesAll: false }],
    ['D3 open', { kind: 'open', line: 'D3' }, { driven: bytes, followed: 0x08, carriesAll: false }],
    [
      'D3 and D4 joined',
      { kind: 'shorted', lines: ['D3', 'D4'], wins: 'low' },
      { driven: [0, 0xff, 1, 0, 0], followed: 0, carriesAll: false },
    ],
    ['two crossed lines', { kind: 'crossed', lines: ['D3', 'D4'] }, { driven: bytes, carriesAll: true }],
  ])('when there is %s then what was read tells it, and whether cells can be put back', async (_, fault, seen) => {
    const { writer, mock } = await seated(wired(fault));
    expect(await trySeatedChip(writer, bytes)).toMatchObject(seen);
    expect(mock.counts().cycles).toBe(0);
  });

  it('when the socket is empty then that is refused, also where a line is stuck on top of it', async () => {
    const none = await seated(absent);
    await expect(trySeatedChip(none.writer, bytes)).rejects.toMatchObject({ code: 'writer.not-driven', exit: 4 });
    const stuckToo = await seated({ ...absent, ...wired(stuck3) });
    stuckToo.writer.presence = async () => 0xf7;
    await expect(trySeatedChip(stuckToo.writer, bytes)).rejects.toMatchObject({ code: 'writer.not-driven', exit: 4 });
  });
});
