// Every name that a listing prints as the name of a value can be asked for.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { addressOf, listPlan, type Plan, readPlan } from '../../src/plan/plan.js';

const planOf = (path: string): Plan => readPlan(readFileSync(path, 'utf8'), path);
const addresses = (plan: Plan, setting: string) => plan.roms.map((rom) => addressOf(plan, rom, [setting]));

describe('names that contents give', () => {
  it('when an instruction is named then its opcodes are meant', () => {
    const plan = planOf('images/skerry-tally.yaml');
    const headings = listPlan(plan).flatMap(
      ({ when }) => /^([a-z-]+) \(order ([\d., ]+)\)$/.exec(when)?.slice(1) ?? [],
    );
    expect(headings.length).toBeGreaterThan(20);
    for (let i = 0; i < headings.length; i += 2) {
      if (!/^\d+$/.test(headings[i + 1]!)) continue;
      expect(addresses(plan, `order=${headings[i]}`)).toEqual(addresses(plan, `order=${headings[i + 1]}`));
    }
  });

  it('when a label is named then its address is meant', () => {
    const plan = planOf('images/skerry-balloon-winch.yaml');
    const rows = listPlan(plan);
    const labels = rows.flatMap((row, i) => {
      const place = /^place (\d+)$/.exec(rows[i + 1]?.when ?? '')?.[1];
      return row.level === 0 && place !== undefined && !row.when.includes(' ') ? [[row.when, place] as const] : [];
    });
    expect(labels.map(([name]) => name)).toContain('refuse');
    for (const [name, place] of labels)
      expect(addresses(plan, `place=${name}`)).toEqual(addresses(plan, `place=${place}`));
  });

  it('when the step has another name than that then the listing says it, and an unknown name is told the known ones', () => {
    const text = `
plan: mill
fields: { op: 2, t: 2 }
contents:
  kind: control-by-step
  opcode: op
  step: t
  lines: { sail.turn: { counts: sail }, stone.drop: { counts: stone }, over: { steps: restart } }
  instructions:
    grind: { opcode: [1, 2], steps: [sail.turn, stone.drop over] }
    rest: { opcode: 0, steps: [over] }
  unused: { opcodes: rest, steps: restart }
roms:
  mill: { chip: 28C16, address: { op: [A0, A1], t: [A2, A3], low: [A4..A10] }, data: { sail.turn: D0, stone.drop: D1, over: D2, unused: D3..D7 } }
`;
    const plan = readPlan(text, 'mill.yaml');
    expect(listPlan(plan).map((row) => row.when)).toContain('t 1');
    expect(addresses(plan, 'op=grind')).toEqual([addresses(plan, 'op=1')[0]!.concat(addresses(plan, 'op=2')[0]!)]);
    expect(() => addresses(plan, 'op=grnd')).toThrow(
      expect.objectContaining({ note: 'It is 2 bits wide: 0 to 3, or grind, rest.' }),
    );
  });
});
