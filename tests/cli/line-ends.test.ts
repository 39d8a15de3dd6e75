// Files that an editor on Windows has saved: every line ends in CR LF, and what they say is the same.
import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { readImage } from '../../src/image/read-image.js';
import { buildPlan, inspectPlan, readPlan, romOf } from '../../src/plan/plan.js';
import { startSession } from '../../src/suspect/bench-session.js';
import { readObservations } from '../../src/suspect/observation-file.js';
import { circuitOfPlan } from '../../src/suspect/plan-circuit.js';

const plans = readdirSync('images').filter((name) => name.endsWith('.yaml'));
const textOf = (name: string): string => readFileSync(`images/${name}`, 'utf8').replaceAll('\r\n', '\n');
const onWindows = (text: string): string => text.replaceAll('\n', '\r\n');

describe('line ends of Windows', () => {
  it.each(plans)('when %s has them then it builds the same images, and findings stand at the same places', (name) => {
    const images = (text: string) => buildPlan(readPlan(text, name)).map(({ image }) => image.bytes);
    expect(images(onWindows(textOf(name)))).toEqual(images(textOf(name)));
    const places = (text: string) => inspectPlan(text, name).findings.map((f) => [f.code, f.line, f.column]);
    expect(places(onWindows(textOf(name)))).toEqual(places(textOf(name)));
  });

  it.each([
    ['a.hex', ':03001000112233' + '87\n:00000001FF\n'],
    ['a.srec', 'S107000001020304EE\nS9030000FC\n'],
  ])('when %s has them then the same cells are read', (file, text) => {
    const read = (t: string) => readImage(new Uint8Array(Buffer.from(t)), { file });
    expect(read(onWindows(text))).toEqual(read(text));
  });

  it('when observations have them then the same is heard', () => {
    const [plan] = plans.map((name) => readPlan(textOf(name), name)).filter(({ roms }) => roms.length === 1);
    if (!plan) expect.unreachable('no plan of one ROM');
    const session = startSession(circuitOfPlan(plan, romOf(plan), buildPlan(plan)[0]!.image));
    const [question] = session.circuit.questions;
    const setting = session.circuit.fields.map((f) => `${f.name}=${question!.values.get(f.name)}`).join(' ');
    const text = `# seen today\n${setting}: ?\n`;
    expect(readObservations(session, onWindows(text), 'seen.txt')).toEqual(readObservations(session, text, 'seen.txt'));
  });
});
