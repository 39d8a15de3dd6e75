import { describe, expect, it } from 'vitest';
import { recordPlan, replayPlan } from '../../src/plan/module-value.js';
import { planOfObject } from '../../src/plan/plan.js';

const planWith = (at: unknown) => ({
  plan: 'gauge',
  fields: { value: 4 },
  contents: { kind: 'function', outputs: { level: 4 }, at },
  roms: {
    gauge: {
      chip: '28C16',
      address: { value: ['A0', 'A1', 'A2', 'A3'], low: ['A4', 'A5', 'A6', 'A7', 'A8', 'A9', 'A10'] },
      data: { level: ['D0', 'D1', 'D2', 'D3'] },
    },
  },
});

describe('the value of a plan module', () => {
  it('when it crosses to another process then the plan is the same, and no function was called there', async () => {
    let calls = 0;
    const value = planWith(({ value }: { value: number }) => {
      calls++;
      return 15 - value;
    });
    const recorded = structuredClone(await recordPlan(value, null));
    expect(calls).toBe(16);
    const replayed = replayPlan(recorded);
    for (const _ of [1, 2])
      expect(planOfObject(replayed, 'p.js').roms[0]!.table.list()).toEqual(
        planOfObject(value, 'p.js').roms[0]!.table.list(),
      );
    expect(calls).toBe(48);
  });

  it.each([
    [planWith(Symbol('x')), 'contents.at is a symbol'],
    [planWith(new Proxy(() => 0, {})), 'contents.at is a proxy'],
    [planWith(new Date()), 'contents.at is an object of a class'],
    [Promise.resolve(1), 'its default export is a promise'],
  ])('when it holds a strange thing then its path is named', async (value, said) => {
    await expect(recordPlan(value, null)).rejects.toThrow(said);
  });
});
