// The bench file: what is saved comes back, and a damaged file is refused with what is wrong.
import { expect, test } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import { parseBench, readBenchState, saveBenchState, spellBench } from '../../src/emulator/bench-file.js';
import { applyFault, describeBench, newBenchState } from '../../src/emulator/bench-state.js';
import { ToolError } from '../../src/ground/errors.js';
import { seededRandom } from '../../src/ground/random.js';
import { filesInMemory } from './files-in-memory.js';

function wornBench() {
  const state = newBenchState({
    part: findPart('AT28C64B'),
    contents: seededRandom(3).bytes(1000),
    cycleUs: 5000,
    seed: 77,
    answerDelayMs: 16,
    registers: 3,
    chainReturn: false,
    faults: ['weak 0x12f', 'A4 A7 crossed', 'protected'],
  });
  state.wear.fill(7, 64, 128);
  state.wear[500] = 123_456;
  state.violations = 3;
  return state;
}

test('when a bench is saved and read, then everything is there again', () => {
  const files = filesInMemory();
  const state = wornBench();
  saveBenchState(files, 'bench.json', state);
  expect(readBenchState(files, 'bench.json')).toEqual(state);
});

test('when a fresh bench is saved, then its blank rows are short', () => {
  expect(spellBench(newBenchState({ part: findPart('AT28C256') })).length).toBeLessThan(4000);
});

test('when a family is asked for, then its strictest member is seated', () => {
  const state = newBenchState({ part: findPart('28C64') });
  expect([state.part.members, state.part.pageBytes.value, state.part.name]).toEqual([null, 1, 'AT28C64']);
  expect(newBenchState({ part: findPart('28C010') }).registers).toBe(3);
});

/** The file with one text replaced by another. */
const damaged = (from: string | RegExp, to: string) => spellBench(wornBench()).replace(from, to);

test.each([
  ['no JSON', damaged('{', '<'), /no JSON/],
  ['a cut file', spellBench(wornBench()).slice(0, -20), /no JSON/],
  ['a list', '[]', /no JSON object/],
  ['another format', damaged('romkiln bench', 'bench'), /format/],
  ['a later version', damaged('"version": 1', '"version": 2'), /version is 2/],
  ['an unknown part', damaged('AT28C64B', 'AT99'), /no chip "AT99"/],
  ['a family', damaged('AT28C64B', '28C64'), /exact name/],
  ['a missing field', damaged(/ "seed": 77,\n/, ''), /"seed" is missing/],
  ['a surplus field', damaged('"seed"', '"extra": 1,\n "seed"'), /"extra" is unknown/],
  ['a seed of text', damaged('"seed": 77', '"seed": "77"'), /"seed" is no number/],
  ['a cycle beyond reason', damaged('"cycleUs": 5000', '"cycleUs": 5'), /"cycleUs" is no number from 100/],
  ['a broken fault', damaged('weak 0x012F', 'week 0x012F'), /not a fault/],
  ['a broken wiring fault', damaged('A4 A7 crossed', 'A4 A7 cross'), /not a wiring fault/],
  ['a broken row of cells', damaged('"FF"', '"FG"'), /row \d+ of "cells"/],
  ['a row too few', damaged(/,\n {2}"FF"/, ''), /"cells" has 31 rows, not 32/],
  ['a broken row of wear', damaged('64*0,64*7,128*0', '64*0,64*7,127*0'), /row 0 of "wear"/],
])('when the file is %s, then it is refused with a reason', (_name, text, reason) => {
  const read = () => parseBench(text, 'b.json');
  expect(read).toThrow(reason);
  try {
    read();
  } catch (error) {
    expect(ToolError.is(error, 'emulator.bench-file') && error.exit).toBe(2);
  }
});

test('when one byte of the file is changed anywhere, then reading fails cleanly or gives a whole bench', () => {
  const text = spellBench(wornBench());
  const random = seededRandom(8);
  for (let i = 0; i < 400; i++) {
    const at = random.below(text.length);
    const changed = text.slice(0, at) + String.fromCharCode(32 + random.below(95)) + text.slice(at + 1);
    try {
      expect(parseBench(changed, 'b.json').cells).toHaveLength(8192);
    } catch (error) {
      expect(error).toBeInstanceOf(ToolError);
    }
  }
});

test('when faults are added, then each is kept once, and none takes all away', () => {
  let state = newBenchState({ part: findPart('AT28C64B') });
  for (const text of ['D3 open', 'd3 OPEN', 'slow', 'smaller 4096']) state = applyFault(state, text);
  expect(describeBench(state).faults).toEqual(['D3 open', 'slow', 'smaller 0x1000']);
  expect(describeBench(applyFault(state, 'none')).faults).toEqual([]);
});

test.each([
  ['weak 0x2000', 'emulator.fault'],
  ['smaller 0x2000', 'emulator.fault'],
  ['smaller 1000', 'emulator.fault'],
  ['slower', 'emulator.fault'],
  ['', 'emulator.fault'],
  ['A4 loose', 'chip.wiring-fault'],
  ['A13 open', 'emulator.fault'],
  ['A12 A13 crossed', 'emulator.fault'],
])('when the fault is "%s", then it is refused (%s)', (text, code) => {
  const apply = () => applyFault(newBenchState({ part: findPart('AT28C64B') }), text);
  expect(apply).toThrow(expect.objectContaining({ code }));
});

test('when a line is none of this chip, then its lines are told, and the last one is taken', () => {
  const state = newBenchState({ part: findPart('AT28C16') });
  expect(() => applyFault(state, 'a11 open')).toThrow(
    '"a11 open" is not a fault: there is no A11 at this chip, whose address lines are A0 to A10.',
  );
  expect(describeBench(applyFault(state, 'A10 open')).faults).toEqual(['A10 open']);
  expect(() => applyFault(state, 'weak 0x800')).toThrow('the address 0x800 is beyond the last cell 0x7FF.');
});

test('when the file is binary, then nothing of it is shown', () => {
  for (const bytes of [Uint8Array.of(0x7f, 0x45, 0x4c, 0x46, 2, 1, 1, 0), seededRandom(5).bytes(2048)]) {
    const files = filesInMemory();
    files.replace('b.json', bytes);
    expect(() => readBenchState(files, 'b.json')).toThrow(
      'b.json is not a usable bench file: it is a binary file, not JSON.',
    );
  }
});

test('when a bench is asked for that cannot be, then each reason is said', () => {
  const part = findPart('AT28C16');
  for (const bench of [
    { part, contents: new Uint8Array(2049) },
    { part, cycleUs: 99 },
    { part, answerDelayMs: 17 },
    { part, faults: ['protected'] },
  ]) {
    expect(() => newBenchState(bench)).toThrow(expect.objectContaining({ code: 'emulator.bench-option', exit: 2 }));
    expect(() => newBenchState(bench)).toThrow(
      /^A bench cannot have (contents of 2049 bytes|a write cycle of 99 us|an answer delay of 17 ms|the fault "protected" with AT28C16 in its socket)\.$/,
    );
  }
});

test('when a bench is described, then contents and wear are summed up', () => {
  const facts = describeBench(wornBench());
  expect(facts).toMatchObject({
    part: 'AT28C64B',
    protectionOn: true,
    wear: { highest: 123_456, cellsWritten: 65 },
    violations: 3,
  });
  expect(facts.contents.cellsNotBlank).toBeGreaterThan(980);
});
