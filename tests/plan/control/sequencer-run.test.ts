// The Skerry sequencer at work: both built images wired up as the plan says, clocked through a list of orders.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { buildPlan, readPlan } from '../../../src/plan/plan.js';

const file = 'images/skerry-sequencer.yaml';
const [instruments, outlets] = buildPlan(readPlan(readFileSync(file, 'utf8'), file)).map((rom) => rom.image.bytes);

interface Conditions {
  readonly dark: number;
  readonly gale: number;
  readonly sending: number;
}

/** Bits of `value` onto the pins, bit 0 first. The pins stand here as on the bench, apart from the plan. */
const wire = (pins: readonly number[], value: number): number =>
  pins.reduce((address, pin, bit) => address | (((value >> bit) & 1) << pin), 0);

/** The lines asserted, by name, as the modules see them. */
function lines(order: number, step: number, { dark, gale, sending }: Conditions): ReadonlySet<string> {
  const left =
    instruments![
      wire([10, 8, 9, 11, 12], order) | wire([0, 1, 2, 3], step) | (dark << 5) | (gale << 4) | (sending << 7)
    ]!;
  const right =
    outlets![wire([4, 5, 6, 7, 12], order) | wire([3, 2, 1, 0], step) | (dark << 8) | (gale << 9) | (sending << 11)]!;
  const levels: readonly (readonly [string, number])[] = [
    ['orders.show', (~left >> 0) & 1],
    ['orders.advance', (left >> 1) & 1],
    ['orders.jump', (~left >> 2) & 1],
    ['order.take', (left >> 3) & 1],
    ['steps.restart', (~left >> 4) & 1],
    ['barometer.show', (~left >> 5) & 1],
    ['cups.show', (~left >> 6) & 1],
    ['vane.show', (~left >> 7) & 1],
    ['display.take', (right >> 0) & 1],
    ['store.advance', (right >> 1) & 1],
    ['store.keep', (right >> 2) & 1],
    ['store.show', (~right >> 3) & 1],
    ['display.light', (right >> 4) & 1],
    ['radio.take', (right >> 5) & 1],
    ['radio.send', (right >> 6) & 1],
    ['steps.hold', (right >> 7) & 1],
  ];
  return new Set(levels.filter(([, level]) => level === 1).map(([name]) => name));
}

/** Everything that the modules do in so many clocks, in order; `weather` says the conditions at each clock. */
function run(orders: readonly number[], clocks: number, weather: (clock: number) => Partial<Conditions> = () => ({})) {
  const log: string[] = [];
  const store: number[] = new Array<number>(8).fill(0);
  let [place, order, step, page, radio] = [0, 31, 0, 0, 0];
  for (let clock = 0; clock < clocks; clock++) {
    const on = lines(order, step, { dark: 0, gale: 0, sending: 0, ...weather(clock) });
    const shown = [
      ['orders.show', orders[place] ?? 0],
      ['vane.show', 0x11],
      ['cups.show', 0x22],
      ['barometer.show', 0x33],
      ['store.show', store[page]!],
    ].filter(([name]) => on.has(name as string)) as [string, number][];
    expect(shown.length).toBeLessThanOrEqual(1);
    const rail = shown[0]?.[1] ?? 0xff;
    if (on.has('display.take')) log.push(`display ${rail.toString(16)}`);
    if (on.has('display.light')) log.push('light');
    if (on.has('radio.take')) radio = rail;
    if (on.has('radio.send')) log.push(`radio ${radio.toString(16)} at ${clock}`);
    if (on.has('store.keep')) store[page] = rail;
    if (on.has('store.advance')) page = (page + 1) % 8;
    if (on.has('orders.advance')) place++;
    if (on.has('orders.jump')) place = rail;
    if (on.has('order.take')) order = rail;
    step = on.has('steps.restart') ? 0 : on.has('steps.hold') ? step : (step + 1) % 16;
  }
  return { log, store };
}

const order = {
  rest: 0,
  lookAtVane: 1,
  lookBack: 4,
  keepVane: 5,
  keepCups: 6,
  keepAll: 8,
  tellCups: 10,
  warnOfGale: 13,
  goOnAt: 16,
  goOnInGale: 17,
};

describe('when the Skerry sequencer works through its orders', () => {
  it('then the vane is shown, and lit in the dark', () => {
    expect(run([order.lookAtVane, order.rest], 7).log).toEqual(['display 11']);
    expect(run([order.lookAtVane, order.rest], 7, () => ({ dark: 1 })).log).toEqual(['display 11', 'light']);
  });

  it('then readings are kept one behind the other', () => {
    expect(run([order.keepVane, order.keepCups, order.keepAll, order.rest], 24).store).toEqual([
      0x11, 0x22, 0x11, 0x22, 0x33, 0, 0, 0,
    ]);
  });

  it('then the radio is waited for', () => {
    expect(run([order.tellCups, order.rest], 12, (clock) => ({ sending: clock < 7 ? 1 : 0 })).log).toEqual([
      'radio 22 at 8',
    ]);
  });

  it('then a warning goes out in a gale only', () => {
    expect(run([order.warnOfGale, order.rest], 12).log).toEqual([]);
    expect(run([order.warnOfGale, order.rest], 12, () => ({ gale: 1 })).log).toEqual(['display 22', 'radio 22 at 3']);
  });

  it('then the list goes on elsewhere where an order says so', () => {
    const list = [order.goOnInGale, 4, order.lookAtVane, order.rest, order.lookBack, order.goOnAt, 4];
    expect(run(list, 7).log).toEqual(['display 11']);
    expect(run(list, 14, () => ({ gale: 1 })).log).toEqual(['display 0', 'display 0']);
  });

  it('then an order that nobody wrote does nothing, and a step counter that wakes up anywhere begins again', () => {
    expect(run([29, order.lookAtVane], 7).log).toEqual(['display 11']);
    for (let code = 0; code < 32; code++) {
      for (let step = 9; step < 16; step++) {
        expect([...lines(code, step, { dark: 0, gale: 0, sending: 0 })]).toEqual(['steps.restart']);
      }
    }
  });
});
