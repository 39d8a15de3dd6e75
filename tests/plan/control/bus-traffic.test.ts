// Buses when several actions are on together: what is wrong, in which words, and how grave it is.
import { describe, expect, it } from 'vitest';
import {
  type Action,
  type Buses,
  busFaultInWords,
  busFaults,
  busFinding,
  unknownBuses,
} from '../../../src/plan/control/bus-traffic.js';

const action = (name: string, drives: readonly string[], loads: readonly string[]): Action => ({ name, drives, loads });
const vane = action('vane.show', ['rail'], []);
const cups = action('cups.show', ['rail', 'loft'], []);
const display = action('display.take', [], ['rail']);
const radio = action('radio.take', [], ['rail']);

describe('when actions are on together', () => {
  it.each([
    ['one drives and two load', [vane, display, radio], []],
    ['nobody touches a bus', [action('lamp.light', [], [])], []],
    ['one drives and nobody loads', [vane], []],
    ['two drive one bus', [vane, cups], [{ kind: 'clash', bus: 'rail', actors: ['vane.show', 'cups.show'] }]],
    [
      'two load and nobody drives',
      [display, radio],
      [{ kind: 'empty', bus: 'rail', actors: ['display.take', 'radio.take'] }],
    ],
  ])('and %s then exactly that is found', (_, actions, faults) => {
    expect(busFaults(actions)).toEqual(faults);
  });

  it.each([
    [[vane, cups], '"vane.show" and "cups.show" drive bus "rail" together'],
    [[display], '"display.take" loads from bus "rail", which nobody drives'],
    [[display, radio], '"display.take" and "radio.take" load from bus "rail", which nobody drives'],
  ])('then the fault is one plain sentence', (actions, sentence) => {
    expect(busFaults(actions).map(busFaultInWords)).toEqual([sentence]);
  });
});

describe('when nobody drives a bus that is loaded from', () => {
  const anything =
    'What gets loaded is then anything; let a line drive the bus in the same step, or say what it reads under "buses".';
  const known = (level: number): string =>
    `The plan says that this bus then reads ${level} on every wire, so that is what gets loaded.`;

  it.each([
    ['reads 0', new Map([['rail', 0]]), 'warning', known(0)],
    ['reads 1', new Map([['rail', 1]]), 'warning', known(1)],
    ['reads anything', new Map([['rail', 'unknown']]), 'error', anything],
    ['is not among the buses', new Map(), 'error', anything],
  ] as const)('and it %s then the finding says what that means', (_, buses, severity, why) => {
    const [fault] = busFaults([display]);
    expect(busFinding(fault!, buses as Buses, '"look", step 2', ['first', 0])).toEqual({
      severity,
      code: 'bus.nobody-drives',
      message: '"look", step 2: "display.take" loads from bus "rail", which nobody drives.',
      why,
      path: ['first', 0],
    });
  });
});

describe('when an action names a bus that the plan does not have', () => {
  const said = (buses: Buses) => unknownBuses([display, cups], buses, (index, key) => ['lines', index, key]);

  it('then the buses that there are stand in the reason', () => {
    expect(
      said(
        new Map<string, 0 | 'unknown'>([
          ['rail', 0],
          ['yard', 'unknown'],
        ]),
      ),
    ).toEqual([
      {
        unknown: 'loft',
        severity: 'error',
        code: 'bus.unknown',
        message: '"cups.show" drives bus "loft", which "buses" does not name.',
        why: 'The buses of this plan are "rail" and "yard".',
        path: ['lines', 1, 'drives'],
      },
    ]);
  });

  it('and it has none then the reason says how to name them', () => {
    const why = 'Name each bus under "buses" and say what it reads while nobody drives it: 0, 1 or unknown.';
    expect(said(new Map()).map((f) => [f.message, f.why])).toEqual([
      ['"display.take" loads bus "rail", which "buses" does not name.', why],
      ['"cups.show" drives bus "rail", which "buses" does not name.', why],
      ['"cups.show" drives bus "loft", which "buses" does not name.', why],
    ]);
  });
});
