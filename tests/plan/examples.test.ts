// The example plans in images/: they are without findings, and build exactly the images that stand beside them.
import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { filledBytes } from '../../src/image/write-image.js';
import { planJsonSchema } from '../../src/plan/json-schema.js';
import {
  buildPlan,
  checkPlan,
  imageFileName,
  listPlan,
  type Manifest,
  manifestOf,
  manifestText,
  type Plan,
  planOfObject,
  readPlan,
} from '../../src/plan/plan.js';

const files = readdirSync('images').filter((f) => /\.(yaml|js)$/.test(f));

async function planOf(file: string): Promise<Plan> {
  if (file.endsWith('.yaml')) return readPlan(readFileSync(`images/${file}`, 'utf8'), file);
  const module: { default: unknown } = await import(`../../images/${file.replace(/\.js$/, '')}.js`);
  return planOfObject(module.default, file);
}

describe('the example plans', () => {
  it('when the folder is read then every kind of contents has an example', async () => {
    const texts = files.map((f) => readFileSync(`images/${f}`, 'utf8')).join('\n');
    for (const kind of ['decimal-display', 'truth-table', 'control-by-step', 'control-by-address', 'function']) {
      expect(texts).toMatch(new RegExp(`kind: '?${kind}`));
    }
  });

  it.each(files)('when %s is checked then nothing is found', async (file) => {
    expect(checkPlan(await planOf(file))).toEqual([]);
  });

  it.each(files)('when %s is built then images and manifest are those beside it', async (file) => {
    const plan = await planOf(file);
    expect(plan.name).toBe(file.replace(/\.\w+$/, ''));
    const built = buildPlan(plan);
    const fileOf = (rom: string): string => imageFileName(plan.name, built.length, rom, 'bin');
    for (const { name, image } of built) {
      expect(Buffer.compare(readFileSync(`images/${fileOf(name)}`), filledBytes(image)), fileOf(name)).toBe(0);
    }
    expect(readFileSync(`images/${plan.name}.manifest.json`, 'utf8')).toBe(
      manifestText(manifestOf(plan.name, built, fileOf)),
    );
  });

  it.each(files)('when %s is built twice then the bytes are the same', async (file) => {
    expect(buildPlan(await planOf(file))).toEqual(buildPlan(await planOf(file)));
  });

  it.each(files)('when %s is listed then every row says something', async (file) => {
    const rows = listPlan(await planOf(file));
    expect(rows.length).toBeGreaterThan(4);
    expect(rows.filter((r) => r.when === '')).toEqual([]);
  });

  // Digests written down here a second time, so that plan, image and manifest cannot drift together.
  it.each([['skerry-thermometer', '3988d38381934feeb8a11ee6a29f1d627d523b867323fdbba89a3b867be3c393']])(
    'when %s is built then its digest is the known one',
    (name, sha256) => {
      const manifest = JSON.parse(readFileSync(`images/${name}.manifest.json`, 'utf8')) as Manifest;
      expect(manifest.roms.map((r) => r.sha256)).toEqual([sha256]);
    },
  );

  it('when the JSON Schema is generated then it is the one for editors in images/', () => {
    expect(JSON.parse(readFileSync('images/plan.schema.json', 'utf8'))).toEqual(planJsonSchema());
  });
});
