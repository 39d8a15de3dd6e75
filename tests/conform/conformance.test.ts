// The conformance suite on a lawful mock writer: what it keeps, what it leaves untried, and what it leaves in the chip.
import { describe, expect, test } from 'vitest';
import { conformanceRules, runConformance } from '../../src/conform/conformance.js';
import { badLines as suiteBadLines } from '../../src/conform/line-rules.js';
import { mockWriter } from '../mock/mock-writer.js';
import { badLines } from '../protocol/protocol-page.js';
import { chipOf, conform } from './conform-mock.js';

describe('a lawful writer', () => {
  for (const part of ['AT28C256', 'AT28C16', 'AT28C64B', 'CAT28C64B', 'AT28C010']) {
    test(`when it drives a scratch ${part} then it keeps every rule and the cells are put back`, async () => {
      const { report, broken, untried, mock } = await conform(part);
      expect(broken).toEqual([]);
      expect(report.conforms).toBe(true);
      expect(report.cellsPutBack).toBe(true);
      expect(Buffer.from(mock.chip.cells).equals(Buffer.from(chipOf(part).contents))).toBe(true);
      expect(mock.chip.protected).toBe(false);
      expect(untried.every((result) => result.reason === `they need another kind of part than ${part}`)).toBe(true);
    });
  }

  test('when the chip is not for scratch then no cell is written', async () => {
    const { broken, untried, mock } = await conform('AT28C256', {}, false);
    expect(broken).toEqual([]);
    expect(mock.chip.cycleCount).toBe(0);
    expect(new Set(untried.map((result) => result.reason))).toEqual(
      new Set(['they need a chip that may be overwritten (--scratch)']),
    );
  });

  test('when the socket is empty and no part is named then the rest is tried', async () => {
    const { broken, untried } = await conform(null);
    expect(broken).toEqual([]);
    expect(new Set(untried.map((result) => result.reason))).toEqual(
      new Set(['they need a part that is named (--chip)']),
    );
  });

  test('when a part is named but the socket is empty then presence says so and no block is tried', async () => {
    const { broken } = await conform('AT28C256', { chip: { ...chipOf('AT28C256'), faults: [{ kind: 'absent' }] } });
    expect(broken.map((result) => result.rule)).toContain(
      'presence tells which data lines nobody drives, and refuses an empty socket',
    );
  });

  test('when the chip refuses blocks then the rules that write are untried and say why', async () => {
    const { broken, untried, mock } = await conform('AT28C256', {
      chip: { ...chipOf('AT28C256'), protected: true },
    });
    expect(broken).toEqual([]);
    expect(untried.some((result) => result.reason?.startsWith('the chip does not take a block'))).toBe(true);
    expect(mock.chip.protected).toBe(true);
  });

  test('when answers come 16 ms late or at odd times then nothing changes', async () => {
    const { broken, report } = await conform('AT28C256', { answerDelayMs: [0, 16] });
    expect(broken).toEqual([]);
    expect(report.cellsPutBack).toBe(true);
  });

  test('when opening the port does not restart the writer then only the start is untried', async () => {
    const { broken, untried } = await conform('AT28C64B', { resetsOnOpen: false });
    expect(broken).toEqual([]);
    expect(untried.filter((result) => result.reason?.startsWith('no greeting'))).toHaveLength(2);
  });
});

describe('the suite', () => {
  test('when the page lists a line that is not good then the suite tries it', () => {
    expect(suiteBadLines).toEqual(badLines());
  });

  test('when rules are listed then each has a name of its own', () => {
    const names = conformanceRules.map((rule) => rule.name);
    expect(new Set(names).size).toBe(names.length);
  });

  test('when nobody answers then it says so within the time of the page', async () => {
    const mock = mockWriter({
      chip: chipOf('AT28C16'),
      mishaps: [{ kind: 'lost', way: 'to-host', at: 0, count: 1e6 }],
    });
    const link = await mock.open('mock', { baud: 115200, lineMax: 1000 });
    await expect(runConformance(link, {})).rejects.toMatchObject({
      code: 'conform.no-writer',
      facts: { path: 'mock', heard: 0 },
    });
    expect(mock.clock.now()).toBeLessThan(7000);
  });

  test('when the port is lost in the middle then the run ends with the error of the link', async () => {
    const mock = mockWriter({ chip: chipOf('AT28C16'), mishaps: [{ kind: 'unplugged', way: 'to-host', at: 5000 }] });
    const link = await mock.open('mock', { baud: 115200, lineMax: 1000 });
    await expect(runConformance(link, {})).rejects.toMatchObject({ code: 'link.gone' });
  });

  test('when a rule has a result then it is told at once, in order', async () => {
    const mock = mockWriter({ chip: chipOf('AT28C16') });
    const link = await mock.open('mock', { baud: 115200, lineMax: 1000 });
    const told: string[] = [];
    const report = await runConformance(link, {}, (result, index, count) => {
      expect([index, count]).toEqual([told.length, conformanceRules.length]);
      told.push(result.rule);
    });
    expect(told).toEqual(report.results.map((result) => result.rule));
  });
});
