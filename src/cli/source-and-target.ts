// An image and the chip it is for, put together: everything wrong with either is said at once, before a port is opened.
import type { Part } from '../chip/part.js';
import { ToolError } from '../ground/errors.js';
import { definedCount } from '../image/defined-runs.js';
import type { Image } from '../image/image.js';
import { type Range, sliceRange } from '../image/range.js';
import { addressText } from '../report/quantity.js';
import type { Target } from '../task/session.js';
import { planChipRemark, seatedChipRemark } from './chip-remark.js';
import type { Invocation } from './command.js';
import { isPlanFile } from './plan-file.js';
import { rangeOf } from './range-option.js';
import { loadSource, plannedPart, type Source } from './source.js';
import { prepare } from './target.js';

/** Either a ROM of a plan, which knows its chip, or a file that is read once the chip is known. */
export type SourceLoad = { readonly plan: Source } | { readonly file: (part: Part | null) => Promise<Source> };

/** Throws where the image cannot go into the chip, or says nothing about the range. */
function checkFits(image: Image, part: Part, range: Range): void {
  const { cells, name: chip } = part;
  const beyond = image.defined.indexOf(1, cells);
  if (beyond >= 0 && range.to === cells - 1) {
    const address = addressText(beyond, image.bytes.length);
    throw new ToolError('job.image-beyond-chip', {
      image: image.name,
      chip,
      address,
      last: addressText(cells - 1, cells),
    });
  }
  if (definedCount(sliceRange(image, range)) === 0) throw new ToolError('job.nothing-defined', { image: image.name });
}

export async function sourceAndTarget(
  invocation: Invocation,
  load: SourceLoad,
): Promise<Target & { readonly also: Source & { readonly range: Range } }> {
  const planPart = 'plan' in load ? plannedPart(load.plan) : null;
  const remark = (text: string | null): void => {
    if (text !== null) invocation.world.stderr.write(`${text}\n`);
  };
  const target = await prepare(invocation, planPart, async (part) => {
    const source = 'plan' in load ? load.plan : await load.file(part);
    const range = part === null ? { from: 0, to: 0 } : rangeOf(invocation.options, part);
    if (part !== null) {
      // Said before it is refused: it is the reason why an image does not fit.
      remark(planChipRemark(source, part));
      checkFits(source.image, part, range);
    }
    return { ...source, range };
  });
  remark(await seatedChipRemark(invocation.world, target));
  for (const warning of target.also.warnings) remark(warning);
  return target;
}

/** The one image named by the first operand: a file, or one ROM of a plan. */
export async function oneSourceAndTarget(invocation: Invocation): ReturnType<typeof sourceAndTarget> {
  const { world, options, operands } = invocation;
  const path = operands[0]!;
  if (isPlanFile(path)) return sourceAndTarget(invocation, { plan: await loadSource(world, path, options) });
  return sourceAndTarget(invocation, { file: (part) => loadSource(world, path, options, part?.cells ?? null) });
}
