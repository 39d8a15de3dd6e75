// A seed that broke a promise, told so that it can be understood and played again: cut down first.
import type { MakeBench, SeedRun } from './seed-run.js';
import { play } from './seed-run.js';
import { shrink } from './shrink.js';
import { spellTrouble } from './trouble.js';

/** The shortest list of troubles that still breaks one of the promises that this run broke. */
export async function shrunken(run: SeedRun, makeBench: MakeBench): Promise<SeedRun> {
  const promises = new Set(run.broken.map((b) => b.promise));
  const fails = async (some: SeedRun['troubles']): Promise<boolean> =>
    (await play(run.scenario, some, makeBench)).broken.some((b) => promises.has(b.promise));
  const fewer = await shrink(run.troubles, fails);
  return fewer === run.troubles ? run : play(run.scenario, fewer, makeBench);
}

export function failureText(run: SeedRun, least: SeedRun, options: string): string {
  const { seed, said, seated } = run.scenario;
  const only = least.troubles.map((t) => run.troubles.indexOf(t)).join(',');
  const lines = [`Seed ${seed}: ${said.name}${said === seated ? '' : ` (a ${seated.name})`}`];
  lines.push(
    least.troubles.length === 0
      ? '  with nothing going wrong'
      : `  with ${least.troubles.length} of ${run.troubles.length} troubles:`,
  );
  lines.push(...least.troubles.map((t) => `    ${spellTrouble(t)}`));
  for (const { end, lifted, broken } of least.ends) {
    lines.push(`  ${lifted ? 'lifted, ' : ''}romkiln ${end.argv.join(' ')}: exit ${end.exit ?? 'never'}`);
    lines.push(...broken.map((b) => `    PROMISE ${b.promise}: ${b.text}`));
  }
  lines.push(...least.broken.filter((b) => b.promise === 0).map((b) => `    ${b.text}`));
  lines.push(`  Again: npm run simulate -- --seed ${seed}${options} --only ${only || 'none'}`);
  return `${lines.join('\n')}\n`;
}
