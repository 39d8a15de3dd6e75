// Tasks as another face than the terminal uses them: functions handed in, facts told, nothing printed.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { findPart } from '../../src/chip/chip-table.js';
import { imageOfBytes } from '../../src/image/image.js';
import { wholeRange } from '../../src/image/range.js';
import { burnImage, planImage } from '../../src/task/burn-image.js';
import { dumpChip, verifyChip } from '../../src/task/chip-reading.js';
import { tryRulesOnScratch } from '../../src/task/conformance.js';
import { choosePort } from '../../src/task/port-choice.js';
import type { Surroundings, Telling } from '../../src/task/surroundings.js';
import { importsOf, sourceFiles } from '../house/sources.js';
import { mockWriter } from '../mock/mock-writer.js';
import { memoryFiles } from '../support/memory-files.js';

const part = findPart('AT28C16');

/** A face that remembers what it is told. */
function face() {
  const mock = mockWriter({ chip: { cells: 2048, page: 1, cycleUs: 100, codes: false, contents: 0xff } });
  const files = memoryFiles();
  const told: Telling[] = [];
  const stages = new Set<string>();
  const interrupt = new AbortController();
  const around: Surroundings = {
    ...{ files, dataFiles: files, dataFolder: '/data', interrupt: interrupt.signal },
    openSerial: mock.open,
    lock: async () => async () => {},
    listPorts: async () => [{ path: 'bench' }],
    firmwareHex: () => '',
    wallTime: () => new Date('2026-01-02T03:04:05Z'),
    tell: (telling) => void told.push(telling),
    progress: (stage) => void stages.add(stage),
    progressEnds: () => {},
  };
  return { mock, files, told, stages, interrupt, around };
}

const image = imageOfBytes('zeros', new Uint8Array(64));
const task = { command: 'burn', label: 'U7', image, range: wholeRange(part.cells), discard: false };
const targetOf = async (around: Surroundings) => ({
  ...{ port: await choosePort(around, null), part, rate: null, registers: null },
});

describe('a face of its own', () => {
  it('when it burns an image then the plan is told before the first write, and the result is facts', async () => {
    const { mock, told, stages, around } = face();
    const planned = { kind: 'burn-plan', image: 'zeros', port: 'bench' };
    await planImage(around, await targetOf(around), task);
    expect([told, mock.counts().cycles]).toEqual([[expect.objectContaining(planned)], 0]);
    const burned = await burnImage(around, await targetOf(around), task);
    expect(burned).toMatchObject({ exit: 0, asides: [], outcome: { verified: true }, keptId: expect.any(String) });
    expect(stages).toEqual(new Set(['reading-before', 'writing', 'reading-back']));
    expect(await verifyChip(around, await targetOf(around), task)).toMatchObject({ same: true });
  });

  it('when it dumps then the bytes go where it says, and the book has the line', async () => {
    const { files, around } = face();
    const stored: Uint8Array[] = [];
    const dumped = await dumpChip(around, await targetOf(around), {
      ...{ command: 'dump', label: null, range: wholeRange(part.cells), passes: 1, file: 'anywhere' },
      store: ({ bytes }) => void stored.push(bytes),
    });
    expect([dumped.exit, stored]).toEqual([0, [new Uint8Array(2048).fill(0xff)]]);
    expect(Buffer.from(files.read('/data/book.jsonl')).toString()).toContain('"file":"anywhere"');
  });

  it('when it holds a writer to the protocol then each rule is told', async () => {
    const { told, around, mock } = face();
    const { port } = await targetOf(around);
    const report = await tryRulesOnScratch(around, port, part, { command: 'conform', label: null, discard: false });
    expect(told.map((t) => t.kind === 'rule' && t.result)).toEqual(report.results);
    expect(mock.chip.cells).toEqual(new Uint8Array(2048).fill(0xff));
  });

  it('when the sources of the room are read then none knows a terminal, an option or the command line', () => {
    for (const file of sourceFiles('src/task')) {
      const text = readFileSync(file, 'utf8');
      expect(
        importsOf(text).filter(({ specifier }) => specifier.includes('/cli/')),
        file,
      ).toEqual([]);
      expect(text, file).not.toMatch(/stdout|stderr|\boptions\.json\b/);
    }
  });
});
