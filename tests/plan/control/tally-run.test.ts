// The Skerry tally at work: its three built images wired up as the plan says, clocked through a list of orders.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { buildPlan, readPlan } from '../../../src/plan/plan.js';

const file = 'images/skerry-tally.yaml';
const [lane, counts, outlets] = buildPlan(readPlan(readFileSync(file, 'utf8'), file)).map((rom) => rom.image.bytes);

interface Conditions {
  readonly above: number;
  readonly record: number;
  readonly full: number;
  readonly due: number;
  readonly busy: number;
}

/** Bits of `value` onto the pins, bit 0 first. The pins stand here as on the bench, apart from the plan. */
const wire = (pins: readonly number[], value: number): number =>
  pins.reduce((address, pin, bit) => address | (((value >> bit) & 1) << pin), 0);

/** What leaves the three sockets, as the modules see it: 1 where a line is asserted. */
function lines(order: number, step: number, { above, record, full, due, busy }: Conditions) {
  const flags = (above << 3) | (record << 7) | (full << 4) | (due << 5) | (busy << 6);
  const one = lane![wire([9, 8, 11, 10, 12], order) | wire([0, 1, 2], step) | flags]!;
  const two =
    counts![wire([4, 5, 6, 7, 12], order) | wire([2, 1, 0], step) | (above << 8) | (record << 11) | (due << 9)]!;
  const three = outlets![wire([12, 11, 10, 9, 8], order) | wire([7, 6, 5], step) | (above << 2) | (full << 1) | busy]!;
  const bit = (byte: number, pin: number): number => (byte >> pin) & 1;
  return {
    source: bit(one, 7) | (bit(one, 6) << 1) | (bit(one, 5) << 2),
    listAdvance: bit(one, 4),
    listJump: 1 - bit(one, 3),
    orderTake: bit(one, 2),
    steps: bit(one, 1) | (bit(one, 0) << 1),
    readingTake: bit(two, 3),
    limitTake: bit(two, 4),
    mostTake: bit(two, 6),
    tallyCount: bit(two, 0),
    tallyClear: 1 - bit(two, 1),
    bellRing: bit(two, 7),
    dueClear: 1 - bit(two, 2),
    logKeep: 1 - bit(three, 5),
    page: bit(three, 0) | (bit(three, 1) << 1),
    radioTake: bit(three, 2),
    radioSend: bit(three, 3),
    coneHoist: bit(three, 6),
    coneLower: bit(three, 7),
  };
}

interface Weather {
  readonly cups?: number;
  readonly vane?: number;
  readonly minute?: boolean;
  readonly busy?: number;
}

/** The machine in so many clocks: what people see and hear, in order, and what its registers hold at the end. */
function run(orders: readonly number[], clocks: number, weather: (clock: number) => Weather = () => ({})) {
  const said: string[] = [];
  const log = new Array<number>(4).fill(0);
  // The order register wakes up with anything in it.
  let [place, order, step, page, due] = [0, 29, 0, 0, 0];
  let [reading, limit, most, tally, radio] = [0, 0, 0, 0, 0];
  for (let clock = 0; clock < clocks; clock++) {
    const { cups = 0x22, vane = 0x11, minute = false, busy = 0 } = weather(clock);
    if (minute) due = 1;
    const on = lines(order, step, {
      above: Number(reading > limit),
      record: Number(reading > most),
      full: Number(page === log.length - 1),
      due,
      busy,
    });
    const spoken = [null, orders[place] ?? 0, cups, vane, reading, most, tally, log[page]!][on.source]!;
    const takes = on.orderTake + on.listJump + on.readingTake + on.limitTake + on.mostTake + on.logKeep + on.radioTake;
    // Nothing is ever loaded from a bus on which nobody speaks.
    if (takes > 0) expect(spoken).not.toBeNull();
    if (on.bellRing) said.push(`bell at ${clock}`);
    if (on.coneHoist) said.push('cone up');
    if (on.coneLower) said.push('cone down');
    if (on.radioSend) said.push(`radio ${radio} at ${clock}`);
    if (on.logKeep) log[page] = spoken;
    if (on.readingTake) reading = spoken;
    if (on.limitTake) limit = spoken;
    if (on.mostTake) most = spoken;
    if (on.radioTake) radio = spoken;
    tally = on.tallyClear ? 0 : tally + on.tallyCount;
    if (on.dueClear) due = 0;
    page = [page, (page + 1) % log.length, (page + log.length - 1) % log.length, 0][on.page]!;
    place = on.listJump ? spoken : place + on.listAdvance;
    if (on.orderTake) order = spoken;
    step = [(step + 1) % 8, step, 0][on.steps]!;
  }
  return { said, log, reading, limit, most, tally, place };
}

const order = {
  rest: 0,
  readCups: 1,
  readVane: 2,
  limitAt: 3,
  keepMost: 4,
  countGust: 8,
  countAfresh: 9,
  showCone: 10,
  openLog: 12,
  logReading: 13,
  logMinute: 15,
  tellTally: 18,
  tellLog: 19,
  waitForMinute: 20,
  goOnAt: 24,
  goOnAbove: 25,
  goOnEarly: 27,
};

describe('when the Skerry tally works through its orders', () => {
  it('then gusts above the limit are counted, and the strongest of them is kept', () => {
    // One order byte and its operand, then three looks at the cups, four clocks for a gust and three for none.
    const gusts = (clock: number): Weather => ({ cups: clock < 6 ? 40 : clock < 10 ? 30 : 90 });
    const { said, tally, most, reading, limit } = run(
      [order.limitAt, 35, order.countGust, order.countGust, order.countGust, order.rest],
      14,
      gusts,
    );
    expect({ said, tally, most, reading, limit }).toEqual({
      said: ['bell at 4', 'bell at 11'],
      tally: 2,
      most: 90,
      reading: 90,
      limit: 35,
    });
  });

  it('then a weaker gust is counted and the most stays', () => {
    const gusts = (clock: number): Weather => ({ cups: clock < 4 ? 90 : 40 });
    expect(run([order.countGust, order.countGust], 8, gusts)).toMatchObject({ tally: 2, most: 90, reading: 40 });
  });

  it('then an order that has nothing to do ends early', () => {
    const { place } = run([order.limitAt, 255, ...new Array<number>(4).fill(order.countGust)], 2 + 4 * 3);
    expect(place).toBe(6);
    expect(run(new Array<number>(4).fill(order.countGust), 4 * 4).place).toBe(4);
  });

  it('then the cone follows the last reading', () => {
    const { said } = run(
      [order.limitAt, 50, order.readCups, order.showCone, order.readVane, order.showCone],
      10,
      () => ({ cups: 70, vane: 9 }),
    );
    expect(said).toEqual(['cone up', 'cone down']);
  });

  it('then the minute is waited for, logged on three pages, and the count begins afresh', () => {
    const list = [order.countGust, order.waitForMinute, order.logMinute, order.waitForMinute];
    const early = run(list, 30);
    expect(early).toMatchObject({ tally: 1, log: [0, 0, 0, 0], place: 2 });
    expect(run(list, 30, (clock) => ({ cups: 77, minute: clock === 20 }))).toMatchObject({
      log: [1, 77, 0x11, 0],
      tally: 0,
      place: 4,
    });
  });

  it('then a full log takes no more', () => {
    const list = [order.readCups, order.logReading, order.logReading, order.logReading, order.logMinute, order.rest];
    expect(run(list, 15).log).toEqual([0x22, 0x22, 0x22, 0]);
  });

  it('then the radio is waited for, and tells what the log kept last', () => {
    const list = [order.openLog, order.readCups, order.logReading, order.tellLog];
    const { said } = run(list, 20, (clock) => ({ busy: clock < 13 ? 1 : 0 }));
    expect(said).toEqual(['radio 34 at 14']);
  });

  it('then the list goes on elsewhere where an order says so', () => {
    const list = [order.readCups, order.goOnAbove, 4, order.rest, order.goOnEarly, 0];
    expect(run(list, 6).place).toBe(0);
    expect(run(list, 6, () => ({ minute: true })).place).toBe(6);
    expect(run([order.goOnAt, 3], 2).place).toBe(3);
  });

  it('then an order that nobody wrote does nothing, and a step counter that wakes up anywhere begins again', () => {
    expect(run([29, 31, order.keepMost, order.countAfresh], 8)).toMatchObject({ said: [], place: 4, tally: 0 });
    for (let code = 0; code < 32; code++) {
      const { steps, ...others } = lines(code, 7, { above: 1, record: 1, full: 0, due: 1, busy: 0 });
      expect({ steps, on: Object.values(others).filter((level) => level > 0) }).toEqual({ steps: 2, on: [] });
    }
  });

  it('then the tally is told', () => {
    const list = [order.countGust, order.tellTally];
    expect(run(list, 7).said).toEqual(['bell at 2', 'radio 1 at 6']);
  });
});
