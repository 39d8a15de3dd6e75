import { describe, expect, it } from 'vitest';
import { requireChip } from '../../src/job/presence.js';
import { seated } from './seated.js';

describe('asking whether a chip is there', () => {
  it('when a chip drives every line and reads steadily then nothing is said', async () => {
    const on = await seated();
    await expect(requireChip(on.writer)).resolves.toBeUndefined();
    expect(on.asked).toHaveLength(2);
  });

  it('when the socket is empty then that is refused', async () => {
    const { writer } = await seated({ chip: { faults: [{ kind: 'absent' }] } });
    await expect(requireChip(writer)).rejects.toMatchObject({ code: 'writer.not-driven', exit: 4 });
  });

  it.each([
    [['D0'], 'line D0'],
    [['D2', 'D7'], 'lines D2 and D7'],
  ])('when nothing drives %j then these lines are named', async (lines) => {
    const wiring = lines.map((line) => ({ kind: 'open', line }) as { kind: 'open'; line: 'D0' });
    const { writer } = await seated({ wiring });
    await expect(requireChip(writer)).rejects.toMatchObject({
      code: 'job.line-not-driven',
      exit: 4,
      facts: { lines },
    });
  });

  it('when every cell reads otherwise at once then the chip never ended its cycle', async () => {
    const { writer, chip } = await seated({ chip: { faults: [{ kind: 'never-ready' }] } });
    chip.write([{ address: 0, byte: 0x12 }], 1e6);
    await expect(requireChip(writer)).rejects.toMatchObject({ code: 'job.still-busy', exit: 4 });
  });

  it('when a chip comes out of its write cycle late then it is waited for', async () => {
    const { writer, chip, mock } = await seated({ chip: { cycleUs: 60_000 } });
    chip.write([{ address: 0, byte: 0x12 }], mock.clock.now());
    await expect(requireChip(writer)).resolves.toBeUndefined();
    expect(chip.busy(mock.clock.now())).toBe(false);
  });

  it('when only some cells are unsteady then the chip is there all the same', async () => {
    const faults = [1, 2, 3].map((address) => ({ kind: 'unsteady-cell', address, bit: 3 }) as const);
    const { writer, asked } = await seated({ chip: { faults } });
    for (let time = 0; time < 10; time++) await requireChip(writer);
    // Two readings each time: nobody took it for a busy chip.
    expect(asked).toHaveLength(20);
  });
});
