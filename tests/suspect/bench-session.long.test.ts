import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { WiringFault } from '../../src/chip/wiring-fault.js';
import { ToolErrors } from '../../src/ground/errors.js';
import { seededRandom } from '../../src/ground/random.js';
import { buildPlan, readPlan, romOf } from '../../src/plan/plan.js';
import { answer, type BenchSession, nextQuestion, startSession, verdict } from '../../src/suspect/bench-session.js';
import { type Circuit, type Question, sightOf } from '../../src/suspect/circuit.js';
import { readObservations } from '../../src/suspect/observation-file.js';
import { circuitOfPlan } from '../../src/suspect/plan-circuit.js';
import { agrees, readSeen, typed } from '../../src/suspect/seen.js';
import { singleFaults } from '../../src/suspect/wiring.js';
import { observe } from './scripted-builder.js';

const circuitOf = (file: string, romName?: string): Circuit => {
  const plan = readPlan(readFileSync(file, 'utf8'), file);
  const rom = romOf(plan, romName);
  return circuitOfPlan(plan, rom, buildPlan(plan)[plan.roms.indexOf(rom)]!.image);
};

const display = circuitOf('tests/support/tide-gauge.yaml');
const one = startSession(display, 1);
const two = startSession(display);

const at = (words: string): Question => display.questions.find((q) => q.words === words)!;

/** A builder who types exactly what a board with these faults shows. */
const ask = (begun: BenchSession, faults: readonly WiringFault[]): BenchSession => {
  let session = begun;
  for (let q = nextQuestion(session); q !== null; q = nextQuestion(session))
    session = answer(session, q, typed(session.circuit.shows, observe(session.circuit, faults, q)));
  return session;
};

const named = (session: BenchSession, faults: readonly WiringFault[]): boolean =>
  verdict(session).explanations.some((e) => JSON.stringify(e.faults) === JSON.stringify(faults));

describe('the circuit of a plan', () => {
  it('when the display plan is read, then a person sets level and switches and sees four digits', () => {
    expect(display.fields.map((f) => f.name)).toEqual(['level', 'zero', 'marks']);
    expect(display.questions).toHaveLength(512);
    expect(display.shows).toMatchObject({ kind: 'digits', count: 4 });
    const seen = readSeen(display.shows, '-12');
    expect(agrees(seen, observe(display, [], at('level=116 zero=mean marks=0')))).toBe(true);
    expect(agrees(seen, observe(display, [], at('level=116 zero=chart marks=0')))).toBe(false);
  });

  it('when a control store is read, then a person sees named lines', () => {
    const tally = circuitOf(
      'images/skerry-tally.yaml',
      readPlan(readFileSync('images/skerry-tally.yaml', 'utf8'), 's').roms[0]!.name,
    );
    expect(tally.shows).toMatchObject({ kind: 'lines' });
    const q = tally.questions[0]!;
    const text = typed(tally.shows, observe(tally, [], q));
    expect(agrees(readSeen(tally.shows, text), observe(tally, [], q))).toBe(true);
    expect(() => readSeen(tally.shows, 'no.such')).toThrow('there is no line "no.such"');
  });
});

describe('a plan that leaves half of the chip undefined', () => {
  // A8 is tied high on the board, so that no cell below is ever wanted.
  const tied = readPlan(
    `plan: gauge
about: depth in tenths
fields:
  depth: 8
  place: { bits: 2, scanned: true }
contents: { kind: decimal-display, value: depth, place: place, places: 4, order: right-to-left, signed: true, decimals: 1, common: anode }
roms:
  gauge:
    chip: 28C16
    address: { depth: [A7, A5, A3, A1, A0, A2, A4, A6], place: [A10, A9], high: A8 }
    data: { a: D7, b: D2, c: D5, d: D0, e: D1, f: D4, g: D6, point: D3 }
`,
    'gauge.yaml',
  );
  const { image } = buildPlan(tied)[0]!;
  const gauge = circuitOfPlan(tied, romOf(tied), image);
  /** The board as it is: erased where nothing was wanted. */
  const board: Circuit = {
    ...gauge,
    image: {
      name: 'erased',
      bytes: image.bytes.map((byte, a) => (image.defined[a] === 1 ? byte : 0xff)),
      defined: image.defined.map(() => 1),
    },
  };
  const asked = (faults: readonly WiringFault[]): BenchSession => {
    let session = startSession(gauge);
    for (let q = nextQuestion(session); q !== null; q = nextQuestion(session)) {
      expect(session.answered.length).toBeLessThan(16);
      session = answer(session, q, typed(gauge.shows, observe(board, faults, q)));
    }
    return session;
  };

  it('when the board is healthy, then the questions come to an end and nothing is wrong', () => {
    expect(verdict(asked([]))).toMatchObject({ state: 'healthy', explanations: [] });
  });

  it.each<[string, WiringFault[]]>([
    ['two lines are crossed', [{ kind: 'crossed', lines: ['A4', 'A7'] }]],
    ['a data line is stuck', [{ kind: 'stuck', line: 'D3', level: 1 }]],
    [
      'both are there',
      [
        { kind: 'crossed', lines: ['A4', 'A7'] },
        { kind: 'stuck', line: 'D3', level: 1 },
      ],
    ],
  ])('when %s, then that alone is named, and no line that the undefined half hides', (_, faults) => {
    const found = verdict(asked(faults));
    expect(found.state).toBe('explained');
    expect(found.explanations.map((e) => e.faults)).toEqual([faults]);
  });

  it.each<[string, WiringFault]>([
    ['A8 is stuck low', { kind: 'stuck', line: 'A8', level: 0 }],
    ['A4 and A8 are shorted', { kind: 'shorted', lines: ['A4', 'A8'], wins: 'low' }],
  ])('when %s, then what was seen is explained by nothing, and that is not ruled out', (_, fault) => {
    const found = verdict(asked([fault]));
    expect(found).toMatchObject({ state: 'contradiction', explanations: [] });
    expect(found.notRuledOut.map((e) => e.faults)).toContainEqual([fault]);
  });
});

describe('questions about the bench', () => {
  it('when the board is healthy, then nothing wrong is seen', () => {
    expect(verdict(ask(one, []))).toMatchObject({ state: 'healthy', explanations: [], doubtful: [] });
    expect(verdict(ask(two, []))).toMatchObject({ state: 'healthy', healthyAgrees: true });
  });

  it('when any single fault is there, then it is named after at most four questions', () => {
    for (const fault of singleFaults(11)) {
      const session = ask(one, [fault]);
      expect(session.answered.length).toBeLessThanOrEqual(4);
      if (verdict(session).state !== 'healthy') expect(named(session, [fault]), JSON.stringify(fault)).toBe(true);
    }
  });

  it('when two faults are there, then they, or what no setting tells from them, are left', () => {
    const random = seededRandom(77);
    const faults = singleFaults(11);
    for (let trial = 0; trial < 5; trial++) {
      const pair = [random.pick(faults), random.pick(faults)];
      const session = ask(two, pair);
      expect(['explained', 'healthy']).toContain(verdict(session).state);
      const left = session.hypotheses.pairsThatFit(session.answered);
      expect(left.length).toBeGreaterThan(0);
      for (const h of left.slice(0, 20))
        for (const q of display.questions) expect(sightOf(display, h, q).join()).toBe(observe(display, pair, q).join());
    }
  });

  it('when the builder does not know, then that question is not asked again and the next one goes on', () => {
    const first = nextQuestion(one)!;
    const unsure = answer(one, first, "don't know");
    expect(nextQuestion(unsure)!.index).not.toBe(first.index);
    expect(verdict(unsure)).toMatchObject({ state: 'asking', remaining: 307 });
    expect(
      named(ask(unsure, [{ kind: 'crossed', lines: ['A1', 'A4'] }]), [{ kind: 'crossed', lines: ['A1', 'A4'] }]),
    ).toBe(true);
  });

  it('when one answer is mistyped, then it is the doubtful one', () => {
    const healthy = [
      'level=37 zero=chart marks=0',
      'level=127 zero=mean marks=0',
      'level=64 zero=chart marks=0',
      'level=90 zero=mean marks=0',
    ];
    let session: BenchSession = one;
    for (const words of healthy)
      session = answer(session, at(words), typed(display.shows, observe(display, [], at(words))));
    session = answer(session, at('level=100 zero=chart marks=0'), '7-7-');
    expect(verdict(session)).toMatchObject({
      state: 'contradiction',
      doubtful: [{ text: '7-7-', otherwiseHealthy: true }],
    });
    const corrected = answer(session, at('level=100 zero=chart marks=0'), '100');
    expect(verdict(corrected).state).not.toBe('contradiction');
  });
});

describe('what is typed', () => {
  it.each([
    ['-12', [0, 64, 6, 91]],
    ['[]-12', [0, 64, 6, 91]],
    ['-[bc]2', [0, 64, 6, 91]],
    ['?-12', [113, 64, 6, 91]],
    ['-12.', [0, 64, 6, 219]],
    ['dark', [0, 0, 0, 0]],
    ['666', [0, 125, 124, 125]],
  ])('when "%s" is typed, then it may have been that sight', (text, sight) => {
    expect(agrees(readSeen(display.shows, text), sight)).toBe(true);
  });

  it.each([
    ['[]-12', [64, 6, 91, 0]],
    ['-12', [0, 64, 6, 90]],
    ['dark', [0, 0, 0, 1]],
  ])('when "%s" is typed, then it was not that sight', (text, sight) => {
    expect(agrees(readSeen(display.shows, text), sight)).toBe(false);
  });

  it.each([
    ['', 'nothing is typed'],
    ['12345', 'these are 5 digits and the display has 4'],
    ['[ab', 'the bracket is not closed'],
    ['1[abx]', 'at character 5: "x" is no segment'],
    ['1[aa]', 'at character 4: "a" is no segment, or stands twice'],
    ['1Z', 'at character 2: "Z" is no digit'],
  ])('when "%s" is typed, then it is refused at its place', (text, message) => {
    expect(() => readSeen(display.shows, text)).toThrow(message);
  });
});

describe('observations from a file', () => {
  it('when a file says what was seen, then the verdict follows', () => {
    const text =
      '# evening one\n\nlevel=37 zero=chart marks=0: 37\nlevel=-12 zero=mean marks=0: -12\nlevel=0x7F zero=chart marks=0: ?\n';
    const session = readObservations(one, text, 'seen.txt');
    expect(session.answered.map((a) => a.question.words)).toEqual([
      'level=37 zero=chart marks=0',
      'level=116 zero=mean marks=0',
      'level=127 zero=chart marks=0',
    ]);
  });

  it('when lines are wrong, then all are named with line and column', () => {
    const text =
      'level=37 zero=chart marks=0 37\nlevel=300 zero=chart marks=0: 1\nlevel=1 zero=loud marks=0: 1\nzero=chart marks=0: 1\nlevel=1 zero=chart marks=0:  1x\nvane=1: 2\nlevel=1 level=2: 1\nlevel: 3\n';
    const messages = (): string[] => {
      try {
        readObservations(one, text, 'seen.txt');
      } catch (error) {
        if (error instanceof ToolErrors) return error.errors.map((e) => e.message);
      }
      return [];
    };
    expect(messages()).toEqual([
      'seen.txt:1:1: there is no colon.',
      'seen.txt:2:1: "300" is no value of level.',
      'seen.txt:3:9: "loud" is no value of zero.',
      'seen.txt:4:1: level is not set.',
      'seen.txt:5:31: "x" is no digit of this display.',
      'seen.txt:6:1: there is no field "vane" to set.',
      'seen.txt:7:9: level is set twice.',
      'seen.txt:8:1: "level" is no setting.',
    ]);
  });
});
