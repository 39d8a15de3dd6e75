// Everything that is measured, as one table on standard output. The bench's rows are exact and the same on every machine;
// the host's rows are ratios taken in one run.
import { againSection, burnSection } from './burn-rows.js';
import { byHandSection } from './by-hand.js';
import { hostSection } from './host-load.js';
import { imageSection } from './image-speed.js';
import { loopSection } from './inner-loops.js';
import { planSection } from './plan-speed.js';
import { readSection } from './read-rows.js';
import { type Section, tellTable } from './row.js';
import { startUpSection } from './start-up.js';
import { violationSection } from './violation-count.js';
import { windowSection } from './window-rows.js';

/** By the name that the command line knows: npm run bench -- burn read. */
const sections: Readonly<Record<string, () => Section | Promise<Section>>> = {
  burn: burnSection,
  again: againSection,
  read: readSection,
  window: windowSection,
  loops: loopSection,
  hand: byHandSection,
  strict: violationSection,
  host: hostSection,
  start: startUpSection,
  images: imageSection,
  plans: planSection,
};

export async function main(words: readonly string[]): Promise<void> {
  const names = words.length > 0 ? words : Object.keys(sections);
  const done: Section[] = [];
  for (const name of names) {
    const measure = sections[name];
    if (!measure) throw new Error(`no section "${name}"; there are ${Object.keys(sections).join(', ')}`);
    process.stderr.write(`measuring: ${name} ...\n`);
    done.push(await measure());
  }
  tellTable(done);
}
