// Burns through wires, blind and careful, over blank and old bytes, played by a model of its own: what the verdict is worth.
import { expect, it } from 'vitest';
import { seededRandom } from '../../src/ground/random.js';
import { explainReadback } from '../../src/suspect/explain-readback.js';
import { falseOnes, hiddenBurn, worthOf } from './hidden-burns.js';

it('when burns with hidden faults are judged, then nothing that is said proves false when it is played again', () => {
  const random = seededRandom(3);
  const found: string[] = [];
  let right = 0;
  for (let n = 0; n < 60; n++) {
    const hidden = hiddenBurn(random);
    const verdict = explainReadback(hidden.image, hidden.readback, hidden.options);
    const worth = worthOf(hidden, verdict);
    if (worth === 'right') right++;
    if (worth === 'sound line blamed alone') found.push(`${worth}: ${hidden.story}`);
    // Every writer and every chip has to play it again.
    for (const one of n % 3 === 0 ? falseOnes(hidden, verdict) : [])
      found.push(`false: ${hidden.story}: ${JSON.stringify(one.cause)}`);
  }
  expect(found).toEqual([]);
  expect(right).toBeGreaterThan(35);
});
