// The rig check with a scratch chip, moves and judgement together: every single wiring fault, on parts of every kind.
import { describe, expect, it } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import type { Part } from '../../src/chip/part.js';
import { spellWiringFault, type WiringFault } from '../../src/chip/wiring-fault.js';
import { trySeatedChip } from '../../src/job/rig.js';
import { tryScratchChip } from '../../src/job/scratch-chip.js';
import {
  addressBusTest,
  dataBusTest,
  drivenBytes,
  pageWitnessBytes,
  protectionCodes,
} from '../../src/suspect/bus-tests.js';
import { faultsAmong, judgeRig, type RigVerdict } from '../../src/suspect/judge-rig.js';
import { addressLineNames, dataLineNames, singleFaults } from '../../src/suspect/wiring.js';
import { seated } from '../job/seated.js';

interface Checked {
  readonly verdict: RigVerdict;
  readonly cycles: number;
  /** The chip's true cells, before and after. */
  readonly before: Uint8Array;
  readonly after: Uint8Array;
  /** The codes went through one way only, and that is told. */
  readonly leftProtected: boolean;
}

async function checked(part: Part, wiring: readonly WiringFault[], contents?: number): Promise<Checked> {
  const { writer, chip, before, mock } = await seated({
    part,
    wiring,
    registers: Math.max(2, Math.ceil(part.addressLines / 8)),
    ...(contents !== undefined && { chip: { contents } }),
  });
  const { carriesAll, ...lines } = await trySeatedChip(writer, drivenBytes);
  let readings = {};
  if (carriesAll) {
    const done = await tryScratchChip(writer, part, await writer.read(0, part.cells), {
      dataBus: dataBusTest(),
      addressBus: addressBusTest(part.addressLines),
      witness: pageWitnessBytes,
      codeCells: part.protection.value ? protectionCodes(part).on.map((load) => load.address) : [],
    });
    expect(done.refusesWrites).toBe(false);
    readings = done.readings;
  }
  await writer.close();
  return {
    verdict: judgeRig({ part, ...lines, ...readings }),
    cycles: mock.counts().cycles,
    before,
    after: chip.cells,
    leftProtected: chip.protected,
  };
}

const everyFault = (part: Part): WiringFault[] => [
  ...singleFaults(part.addressLines),
  ...[...addressLineNames(part.addressLines), ...dataLineNames].map((line) => ({ kind: 'open', line }) as const),
];

// A spread of them, which takes seconds: the strides are prime, so that every kind comes up. All of them, on emulated
// benches: npm run bench faults-on-bench.
describe('every single wiring fault', () => {
  it.each([
    ['AT28C16', 7],
    ['AT28C64B', 47],
    ['AT28C256', 101],
    ['AT28C010', 331],
  ])(
    'when it is there with an %s then it is found or listed as unseen, and every cell is as before',
    async (name, stride) => {
      const part = findPart(name);
      const sound = await checked(part, []);
      expect(sound.verdict).toMatchObject({ sound: true, explanations: [], remarks: [] });
      expect(sound.after).toEqual(sound.before);
      const unseen = new Set(sound.verdict.unseen.map(spellWiringFault));
      for (const fault of everyFault(part).filter((_, i) => i % stride === 0)) {
        const words = spellWiringFault(fault);
        const { verdict, before, after } = await checked(part, [fault]);
        if (unseen.has(words)) expect(verdict.sound, words).toBe(true);
        else expect(faultsAmong(verdict.explanations).map(spellWiringFault), words).toContain(words);
        expect(Buffer.compare(before, after), words).toBe(0);
      }
    },
  );
});

describe('a data line that hides a bit', () => {
  it.each(['AT28C16', 'AT28C64B', 'AT28C256'])(
    'when D3 is stuck at 1 over cells of 00 then it alone is named, and nothing is written: %s',
    async (name) => {
      const { verdict, cycles, before, after } = await checked(
        findPart(name),
        [{ kind: 'stuck', line: 'D3', level: 1 }],
        0,
      );
      expect(faultsAmong(verdict.explanations)).toEqual([{ kind: 'stuck', line: 'D3', level: 1 }]);
      expect(cycles).toBe(0);
      expect(after).toEqual(before);
      const line = (of: string) => verdict.lines.find((l) => l.line === of)!;
      expect(line('D3')).toMatchObject({ fault: { groups: [{ kind: 'stuck', level: 1 }] }, proven: [], notProven: [] });
      // Nothing was asked of the address lines, so nothing is proven of them; the other data lines are driven and follow.
      expect(line('A0').proven).toEqual([]);
      expect(line('D2').proven.map((p) => p.not)).toMatchObject([
        { kind: 'stuck', level: 0 },
        { kind: 'stuck', level: 1 },
        { kind: 'shorted', others: { length: 7 } },
        { kind: 'open' },
      ]);
    },
  );
});

describe('codes that come through one way only', () => {
  it('when D5 and D7 are crossed then protection goes on and not off again, and the readings tell it', async () => {
    const { verdict, leftProtected, before, after } = await checked(findPart('AT28C64B'), [
      { kind: 'crossed', lines: ['D5', 'D7'] },
    ]);
    expect(faultsAmong(verdict.explanations).map(spellWiringFault)).toContain('D5 D7 crossed');
    expect(leftProtected).toBe(true);
    expect(after).toEqual(before);
  });
});
