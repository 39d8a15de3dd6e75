// A display with a ROM for each digit, which has its place fixed: looked at as a whole, asked about alone, with no line called idle.
import { describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.js';
import { addressOf, buildPlan, checkPlan, lookAt, readPlan, romOf, sayLooks } from '../../src/plan/plan.js';
import { circuitOfPlan } from '../../src/suspect/plan-circuit.js';
import { fakeWorld } from '../support/fake-world.js';

const segments = 'a: D0, b: D1, c: D2, d: D3, e: D4, f: D5, g: D6, unused: D7';
const rom = (name: string, place: number): string =>
  `  ${name}: { chip: 28C16, fixed: { place: ${place} }, address: { wind: A0..A7, low: A8..A10 }, data: { ${segments} } }`;
const text = (roms: readonly string[], fields = 'wind: 8, place: 2'): string =>
  `plan: anemometer\nfields: { ${fields} }\ncontents: { kind: decimal-display, value: wind, place: place, places: 3 }\nroms:\n${roms.join('\n')}\n`;
const whole = text([rom('hundreds', 0), rom('tens', 1), rom('units', 2)]);

describe('a ROM for each digit', () => {
  const plan = readPlan(whole, 'anemometer.yaml');

  it('when one of them is looked at then the whole display is drawn, each digit by its own ROM', () => {
    for (const one of plan.roms) {
      const { display } = lookAt(plan, one, 159);
      expect(display?.text).toBe('159');
      // 1 is b c; 5 is a c d f g; 9 is a b c d f g.
      expect(display?.segments).toEqual([0b0000110, 0b1101101, 0b1101111]);
    }
  });

  it('when a setting is looked at in all of them then the display is drawn once, after the last', async () => {
    const world = fakeWorld({ initialFiles: { 'a.yaml': whole } });
    expect(await run(['look', 'a.yaml', 'wind=159'], world)).toBe(0);
    const lines = world.out().split('\n');
    expect(
      lines.filter((line) => line.startsWith('hundreds') || line.startsWith('tens') || line.startsWith('units')),
    ).toHaveLength(3);
    expect(lines.filter((line) => /[|]/.test(line))).toHaveLength(2);
    expect(lines.at(-2)).toContain('|');
  });

  it('when all places of one ROM are looked at then the display is drawn once, and another one again', () => {
    const scanned = readPlan(
      `plan: p\nfields: { wind: 6, place: 1 }\ncontents: { kind: decimal-display, value: wind, place: place }\nroms:\n  one: { chip: 28C16, address: { wind: A0..A5, place: A6, low: A7..A10 }, data: { ${segments} } }\n`,
      'p.yaml',
    );
    const looks = (...settings: string[]) =>
      addressOf(scanned, romOf(scanned), settings).map((address) => lookAt(scanned, romOf(scanned), address));
    const drawings = (said: string): number =>
      said.split('\n').filter((line) => /^[ _|.]+$/.test(line) && line.includes('|')).length / 2;
    expect(drawings(sayLooks(...looks('wind=48')))).toBe(1);
    expect(drawings(sayLooks(...looks('wind=48..49')))).toBe(2);
  });

  it('when the plan is checked then no line is called idle that another digit needs', () => {
    expect(checkPlan(plan)).toEqual([]);
    expect(checkPlan(readPlan(text([rom('tens', 1)]), 'anemometer.yaml'))).toEqual([]);
  });

  it('when no chip of the set needs a line then that is told once, with every pin', () => {
    const idle = whole
      .replace('wind: 8, place: 2', 'wind: 8, place: 2, dusk: 1')
      .replaceAll('low: A8..A10', 'dusk: A8, low: A9..A10');
    const found = checkPlan(readPlan(idle, 'anemometer.yaml')).filter((f) => f.code === 'input.idle');
    expect(found.map((f) => f.message)).toEqual([
      'No output depends on A8 (dusk.0) of "hundreds"; A8 (dusk.0) of "tens"; A8 (dusk.0) of "units".',
    ]);
  });

  it('when the bench is asked about one of them then its digit alone is what a person sees', () => {
    const [, tens] = plan.roms;
    const circuit = circuitOfPlan(plan, tens!, buildPlan(plan)[1]!.image);
    expect(circuit.shows).toMatchObject({ kind: 'digits', count: 1 });
    expect(circuit.fields.map((f) => f.name)).toEqual(['wind']);
    expect(circuit.questions[159]!.views.map((view) => view.address)).toEqual([159]);
  });
});
