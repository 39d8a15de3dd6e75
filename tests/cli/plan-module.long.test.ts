// Plan modules run in a process of their own: whatever one does, it ends as one error of the plan, with its place.
import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it, onTestFinished } from 'vitest';
import { loadPlanModule, type ModuleLoad } from '../../src/cli/world-plan-module.js';
import { realClock } from '../../src/link/real-clock.js';
import { planOfObject } from '../../src/plan/plan.js';
import { systemTool } from '../support/system-tools.js';

const folder = mkdtempSync(join(tmpdir(), 'romkiln-module-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function load(
  name: string,
  text: string,
  options: Partial<ModuleLoad> = {},
): { value: Promise<unknown>; printed(): string } {
  const path = join(folder, name);
  writeFileSync(path, text);
  let printed = '';
  const onPrint = (said: string): void => {
    printed += said;
  };
  const load: ModuleLoad = {
    clock: realClock,
    interrupt: new AbortController().signal,
    onPrint,
    program: 'dist/cli/world-plan-child.js',
    ...options,
  };
  return { value: loadPlanModule(path, load), printed: () => printed };
}

const plan = (at: string, more = '') => `${more}
export default {
  plan: 'gauge', fields: { value: 4 },
  contents: { kind: 'function', outputs: { level: 4, full: 1 }, at: ${at} },
  roms: { gauge: { chip: '28C16', address: { value: ['A0', 'A1', 'A2', 'A3'], low: ['A4', 'A5', 'A6', 'A7', 'A8', 'A9', 'A10'] }, data: { level: ['D0', 'D1', 'D2', 'D3'], full: 'D4' } } },
};`;

describe('a plan module', () => {
  it('when its function is sound then the plan is the one that a table of it makes', async () => {
    const found = planOfObject(
      await load('a.js', plan('({ value }) => ({ level: 15 - value, full: value === 15 ? undefined : 0 })')).value,
      'a.js',
    );
    const { table } = found.roms[0]!;
    expect(Array.from({ length: 16 }, (_, v) => table.at([v])[0])).toEqual(
      Array.from({ length: 16 }, (_, v) => 15 - v),
    );
    expect(table.at([15])[1]).toBeUndefined();
    // Compiled again, it is the same again.
    const value = await load('a.js', plan('({ value }) => ({ level: value })')).value;
    expect(planOfObject(value, 'a.js').roms[0]!.table.at([7])).toEqual(
      planOfObject(value, 'a.js').roms[0]!.table.at([7]),
    );
  });

  it('when it is written with types then it is read as well', async () => {
    const text = plan('({ value }: { value: number }) => ({ level: value })', 'const unused: number = 1;');
    expect(planOfObject(await load('a.ts', text).value, 'a.ts').name).toBe('gauge');
  });

  it('when it prints then that goes to standard error, and the plan is there', async () => {
    const { value, printed } = load('a.js', plan('() => ({})', 'console.log("to out"); console.error("to err");'));
    await value;
    expect(printed()).toContain('to out\n');
    expect(printed()).toContain('to err\n');
  });

  it.each([
    ['a.mjs', 'export default {\n  plan: "x",\n  roms: { b b },\n};\n', /a\.mjs:3:13: .*[Uu]nexpected token/],
    ['a.ts', 'export default {\n  plan: "x",\n  roms: { b b },\n};\n', /a\.ts:3:13: .*[Uu]nexpected token/],
    ['a.js', 'const a = 1;\nexport default { a: nope.b };\n', /a\.js:2:21: .*nope is not defined/],
    ['a.js', 'import "./none.js";\nexport default {};\n', /a\.js.*none\.js/],
    ['a.js', 'await new Promise(() => {});\nexport default {};\n', /a\.js: .*waits for a promise that never settles/],
    ['a.js', 'export default new Promise(() => {});\n', /its default export is a promise/],
    ['a.js', 'process.exit(0);\n', /a\.js: .*it ends the process \(exit 0\)/],
    ['a.js', 'process.abort();\n', /a\.js: .*its process ended \(SIGABRT\)/],
    [
      'a.js',
      'setTimeout(() => { stray.x; }, 1);\nawait new Promise((r) => setTimeout(r, 2000));\nexport default {};',
      /a\.js:1:20: .*stray is not defined/,
    ],
    [
      'a.js',
      'Promise.reject(new Error("left alone"));\nawait new Promise((r) => setTimeout(r, 2000));\nexport default {};',
      /a\.js:1:16: .*left alone/,
    ],
    [
      'a.js',
      'export default { get plan() { throw new Error("no"); } };\n',
      /plan is read by a getter that throws "no"/,
    ],
    ['a.js', 'export default { roms: new Proxy({}, { ownKeys() { throw 1; } }) };\n', /roms is a proxy/],
    ['a.js', 'export default { roms: new Map() };\n', /roms is an object of a class/],
    ['a.js', 'const a = {}; a.a = a;\nexport default a;\n', /holds itself/],
    ['a.js', 'throw { toString() { throw 1; } };\n', /cannot be shown/],
  ])('when %s holds %j then that is an error of the plan', async (name, text, said) => {
    const error = await load(name, text).value.catch((e: unknown) => e);
    expect(error).toMatchObject({ code: 'cli.plan-module', exit: 2 });
    expect((error as Error).message).toMatch(said);
    expect((error as Error).message).not.toContain('\n');
  });

  it.each([
    ['() => { throw new Error("worn out"); }', 'The function throws "worn out" at value 0.'],
    ['async () => ({})', 'The function gives a promise at value 0.'],
    ['() => ({ get level() { throw new Error("no"); } })', 'a getter that throws'],
    ['() => new Proxy({}, {})', 'a proxy'],
    ['({ value }) => ({ level: value * 2 })', 'The function gives level 16 at value 8.'],
  ])('when its function is %s then that is said with its setting', async (at, said) => {
    const value = await load('a.js', plan(at)).value;
    expect(() => planOfObject(value, 'a.js')).toThrow(said);
  });

  it('when it never ends then Ctrl-C ends it at once', async () => {
    const interrupt = new AbortController();
    const { value } = load('a.js', 'console.log("begun"); for (;;);', {
      interrupt: interrupt.signal,
      onPrint: () => interrupt.abort(),
    });
    await expect(value).rejects.toMatchObject({ code: 'cli.interrupted', exit: 130 });
  });

  it('when it never ends then the limit ends it, and is said', async () => {
    let strike = (): void => {};
    const after = (_: number, callback: () => void) => {
      strike = callback;
      return () => {};
    };
    const clock = { now: () => 0, after };
    const { value } = load('a.js', plan('() => { console.log("begun"); for (;;); }'), {
      clock,
      onPrint: () => strike(),
    });
    await expect(value).rejects.toMatchObject({
      code: 'cli.plan-module',
      message: expect.stringContaining('it gives no plan within 30 s'),
    });
  });
});

describe.skipIf(!systemTool('mkfifo'))('a plan module that never ends', () => {
  it('when the program is killed outright then the process of the module ends too', { timeout: 20_000 }, async () => {
    const pipe = join(folder, 'alive');
    spawnSync('mkfifo', [pipe]);
    const path = join(folder, 'endless.mjs');
    // It holds the pipe open for as long as it lives.
    writeFileSync(
      path,
      `import { openSync, writeSync } from 'node:fs';
writeSync(openSync(${JSON.stringify(pipe)}, 'w'), String(process.pid));
for (;;);
`,
    );
    const program = spawn(process.execPath, ['bin/romkiln.cjs', 'check', path], { stdio: 'ignore' });
    const reader = spawn('cat', [pipe]);
    let child = '';
    reader.stdout.on('data', (chunk: Buffer) => {
      child += chunk.toString('latin1');
      program.kill('SIGKILL');
    });
    onTestFinished(() => {
      try {
        process.kill(Number(child), 'SIGKILL');
      } catch {
        // Gone, as it should be.
      }
    });
    // Only the end of that process closes the pipe.
    await once(reader, 'close');
    expect(child).toMatch(/^\d+$/);
  });
});
