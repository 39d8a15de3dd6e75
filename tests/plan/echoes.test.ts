// One cause, one message: a name or a key that is written wrongly is said once, and nothing that only follows from it.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { inspectPlan } from '../../src/plan/plan.js';
import { planText } from './planted.js';

const page = readFileSync('images/README.md', 'utf8');
const exampleOf = (name: string): string => new RegExp(`^plan: ${name}\\n[\\s\\S]*?(?=^\`\`\`)`, 'm').exec(page)![0];
const [gauge, hatch] = [exampleOf('rain-gauge'), exampleOf('hatch')];

const found = (text: string): string[] =>
  inspectPlan(text, 'test.yaml').findings.map((f) => `${f.severity} ${f.code}: ${f.message} ${f.why}`);

describe('one misspelt word', () => {
  it.each([
    [gauge, 'rail: { undriven', 'rial: { undriven', 'bus.unknown', 'more places'],
    [gauge, 'order.take: { loads: rail', 'order.take: { loads: rial', 'bus.unknown', '"rial"'],
    [gauge, 'flags: [full]', 'flags: [ful]', 'field.unknown', '"full"'],
    [gauge, 'when: { full', 'when: { ful', 'flag.unknown', '"full"'],
    [gauge, 'step: 2,', 'stpe: 2,', 'field.unknown', 'The same name stands in 1 more place.'],
    [gauge, '\ncontents:', '\ncontnets:', 'shape.unknown-key', '"contents"'],
    [gauge, '\nfields:', '\nfeilds:', 'shape.unknown-key', '"fields"'],
    [gauge, '\nroms:', '\nrmos:', 'shape.unknown-key', '"roms"'],
    [gauge, 'opcode: order', 'opcod: order', 'shape.unknown-key', '"opcode"'],
    [gauge, '    address:', '    adress:', 'shape.unknown-key', '"address"'],
    [gauge, '    chip:', '    chp:', 'shape.unknown-key', '"chip"'],
    [gauge, 'order.take: {', 'order.tkae: {', 'line.unknown', '"order.tkae"'],
    [gauge, 'gauge: { code', 'gague: { code', 'code.unknown', '"gague"'],
    [hatch, '    begin: ', '    begni: ', 'label.unknown', '"begni"'],
    [hatch, '    motor: {', '    mtoor: {', 'line.unknown', '"mtoor"'],
    [hatch, '    target: {', '    taregt: {', 'line.unknown', '"taregt"'],
  ])('when a plan has %#, then one error names it', (text, right, wrong, code, words) => {
    expect(text).toContain(right);
    const findings = found(text.replace(right, wrong));
    expect(findings, findings.join('\n')).toHaveLength(1);
    expect(findings[0]).toContain(`error ${code}: `);
    expect(findings[0]).toContain(words);
  });
});

describe('what stands under a misspelt key', () => {
  it('when it is wrong itself then that is said at its own place', () => {
    const text = planText({ fields: 'feilds: { number: 44 }' })
      .replace('    address:', '    adress:')
      .replace('A4..A10', 'A4..A9');
    const places = inspectPlan(text, 'test.yaml').findings.map((f) => `${f.line}:${f.column} ${f.code} ${f.where}`);
    expect(places).toEqual([
      '2:1 shape.unknown-key feilds',
      '2:19 shape.value feilds.number',
      '7:5 shape.unknown-key roms.one.adress',
      '7:5 pin.missing roms.one.adress',
    ]);
  });

  it('when two keys could mean the same then the first is read as it, and the other is only unknown', () => {
    const text = planText({ address: '    adress: { number: A0..A3, low: A4..A10 }\n    addres: { low: A0..A10 }' });
    expect(found(text).map((f) => f.split(':')[0])).toEqual(['error shape.unknown-key', 'error shape.unknown-key']);
  });
});

describe('two mistakes', () => {
  it('when a bus is misspelt and another has no driver then both are said', () => {
    const two = gauge
      .replace(
        'buses: { rail: { undriven: unknown } }',
        'buses: { rail: { undriven: unknown }, yard: { undriven: unknown } }',
      )
      .replace('order.take: { loads: rail }', 'order.take: { loads: rial }')
      .replace('store.keep: { loads: rail }', 'store.keep: { loads: yard }');
    expect(
      found(two)
        .map((f) => f.split(':')[0])
        .filter((f) => f?.startsWith('error')),
    ).toEqual(['error bus.unknown', 'error bus.nobody-drives']);
  });
});
