import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { BlockWindow } from '../../src/writer/block-window.js';

const takeAll = (window: BlockWindow): number[] => {
  const taken: number[] = [];
  for (let index = window.take(); index !== null; index = window.take()) taken.push(index);
  return taken;
};

describe('the window of blocks', () => {
  it('when there is room then blocks go in order, and each answer makes room for one', () => {
    const window = new BlockWindow(6, 3);
    expect(takeAll(window)).toEqual([0, 1, 2]);
    window.answered(0);
    expect(takeAll(window)).toEqual([3]);
    window.answered(1);
    window.answered(2);
    expect(takeAll(window)).toEqual([4, 5]);
    for (const index of [3, 4, 5]) window.answered(index);
    expect(window.finished).toBe(true);
    expect(takeAll(window)).toEqual([]);
  });

  it('when a later block is answered first then the earlier ones are lost and go again at once', () => {
    const window = new BlockWindow(10, 4);
    takeAll(window);
    window.answered(2);
    expect(takeAll(window)).toEqual([0, 1, 4]);
    // 0 and 1 went again after 3: its answer says nothing about them.
    window.answered(3);
    expect(takeAll(window)).toEqual([5]);
    // 4 was first sent after they went again: they were lost once more.
    window.answered(4);
    expect(takeAll(window)).toEqual([0, 1, 6]);
  });

  it('when a block that went again is answered then nothing is concluded from its repeats', () => {
    const window = new BlockWindow(10, 4);
    takeAll(window);
    window.answered(1);
    expect(takeAll(window)).toEqual([0, 4]);
    // The writer had done 0 and only its answer was lost: it answers at once, from memory, before 2 and 3.
    window.answered(0);
    expect(takeAll(window)).toEqual([5]);
  });

  it('when nothing is heard in time then all outstanding go again in order', () => {
    const window = new BlockWindow(10, 3);
    takeAll(window);
    window.deadline();
    window.deadline();
    expect(takeAll(window)).toEqual([0, 1, 2]);
    expect(window.mostSends).toBe(2);
  });

  it('when a line is refused then only at the end the outstanding go again, once', () => {
    const window = new BlockWindow(4, 3);
    takeAll(window);
    window.lineRefused();
    expect(takeAll(window)).toEqual([]);
    window.answered(0);
    expect(takeAll(window)).toEqual([3]);
    window.lineRefused();
    expect(takeAll(window)).toEqual([1, 2, 3]);
    window.lineRefused();
    expect(takeAll(window)).toEqual([]);
  });

  it('when the writer had no room then the block goes again after the next answer', () => {
    const window = new BlockWindow(4, 3);
    takeAll(window);
    window.notTaken(2);
    expect(takeAll(window)).toEqual([]);
    window.answered(0);
    expect(takeAll(window)).toEqual([2, 3]);
  });

  it('when the writer restarted then what was outstanding begins anew', () => {
    const window = new BlockWindow(5, 3);
    takeAll(window);
    window.answered(1);
    window.take();
    window.restart();
    expect(takeAll(window)).toEqual([0, 2, 3]);
    expect(window.mostSends).toBe(1);
  });

  it('when it is stopped then nothing is sent any more, and it is finished when all outstanding are answered', () => {
    const window = new BlockWindow(9, 2);
    takeAll(window);
    window.deadline();
    window.stop();
    expect(takeAll(window)).toEqual([]);
    window.answered(1);
    expect(takeAll(window)).toEqual([]);
    window.answered(0);
    expect(window.finished).toBe(true);
  });

  it('when a block is answered twice then the second counts for nothing', () => {
    const window = new BlockWindow(2, 2);
    takeAll(window);
    window.answered(0);
    window.answered(0);
    expect(window.answeredCount).toBe(1);
  });

  it('when lines and answers are lost at random then all blocks are answered, in bounded room, and a faultless line repeats none', () => {
    // A writer that answers in order of arrival; `fates` says of every line and every answer whether it is lost.
    const run = (count: number, size: number, fates: readonly boolean[]) => {
      const window = new BlockWindow(count, size);
      const remembered = new Set<number>();
      let queue: number[] = [];
      let sends = 0;
      let fate = 0;
      const lost = (): boolean => fates[fate++] ?? false;
      while (!window.finished) {
        for (let index = window.take(); index !== null; index = window.take()) {
          sends++;
          expect(window.outstanding.length).toBeLessThanOrEqual(size);
          if (lost()) continue;
          if (!remembered.has(index)) {
            if (!queue.includes(index)) queue.push(index);
          } else if (!lost()) window.answered(index);
        }
        const next = queue.shift();
        if (next === undefined) window.deadline();
        else {
          remembered.add(next);
          if (!lost()) window.answered(next);
        }
        queue = queue.filter((index) => !remembered.has(index));
      }
      expect(window.answeredCount).toBe(count);
      return sends;
    };
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 40 }),
        fc.integer({ min: 1, max: 16 }),
        fc.array(fc.boolean()),
        (count, size, fates) => {
          run(count, size, fates);
          expect(run(count, size, [])).toBe(count);
        },
      ),
    );
  });

  it('when the writer refuses a line then less is sent at once, and more again after answers without a refusal', () => {
    const window = new BlockWindow(1000, 16);
    const taken = (): number[] => {
      const list: number[] = [];
      for (let index = window.take(); index !== null; index = window.take()) list.push(index);
      return list;
    };
    const first = taken();
    expect(first).toHaveLength(16);
    window.lineRefused();
    window.answered(first[0]!);
    // One refusal is noise, two close together are not.
    expect(taken()).toEqual([16]);
    window.lineRefused();
    for (const index of first.slice(1, 9)) window.answered(index);
    expect(taken()).toEqual([]);
    window.answered(first[9]!);
    expect(taken()).toEqual([17]);
    for (let refusal = 0; refusal < 9; refusal += 1) window.lineRefused();
    while (window.outstanding.length > 0) window.answered(window.outstanding[0]!);
    expect(taken()).toHaveLength(2);
    for (let answers = 0; answers < 40; answers += 1) {
      window.answered(window.outstanding[0]!);
      window.take();
    }
    taken();
    expect(window.outstanding).toHaveLength(3);
  });

  it('when a block is answered that was to go again then it does not, and the others do', () => {
    for (const answered of [0, 1, 2]) {
      const window = new BlockWindow(3, 3);
      takeAll(window);
      window.deadline();
      window.answered(answered);
      expect(takeAll(window)).toEqual([0, 1, 2].filter((index) => index !== answered));
    }
    const window = new BlockWindow(3, 3);
    takeAll(window);
    window.deadline();
    expect(window.take()).toBe(0);
    window.answered(0);
    expect(takeAll(window)).toEqual([1, 2]);
  });

  it('when the writer restarts again before anything was sent then nothing is forgotten', () => {
    const window = new BlockWindow(4, 3);
    takeAll(window);
    window.restart();
    window.restart();
    expect(window.take()).toBe(0);
    window.restart();
    expect(takeAll(window)).toEqual([0, 1, 2]);
    window.stop();
    window.restart();
    expect(takeAll(window)).toEqual([]);
    expect(window.finished).toBe(true);
  });

  it('when refusals lie more than a window of answers apart then as much is sent at once as before', () => {
    const window = new BlockWindow(100, 4);
    takeAll(window);
    for (let refusal = 0; refusal < 3; refusal++) {
      window.lineRefused();
      for (let answers = 0; answers < 5; answers++) {
        window.answered(window.outstanding[0]!);
        takeAll(window);
      }
      expect(window.outstanding).toHaveLength(4);
    }
    // What is not outstanding can be refused room without harm.
    window.notTaken(99);
  });

  it('when only one may be outstanding then refusals change nothing', () => {
    const window = new BlockWindow(3, 1);
    takeAll(window);
    for (let refusal = 0; refusal < 5; refusal++) window.lineRefused();
    window.answered(0);
    expect(takeAll(window)).toEqual([1]);
  });
});
