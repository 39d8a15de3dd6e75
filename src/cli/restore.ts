// romkiln restore: what the keep holds goes back into a chip, as a burn of just those cells.
import { findPart } from '../chip/chip-table.js';
import { ToolError } from '../ground/errors.js';
import { addressText } from '../report/quantity.js';
import { keepOf } from './book-keeping.js';
import { runBurn } from './burn-image.js';
import { seatedChipRemark } from './chip-remark.js';
import { type Execute, textOption } from './command.js';
import { imageOfKept } from './keep.js';
import { rangeOf } from './range-option.js';
import { prepare } from './target.js';

export const execute: Execute = async (asked) => {
  const keep = keepOf(asked.world);
  const record = keep.find(asked.operands[0]!);
  // Unless another label is given it is the chip that was burned then.
  const label = textOption(asked.options, 'label') ?? record.label;
  const invocation = { ...asked, options: { ...asked.options, ...(label !== null && { label }) } };
  const image = imageOfKept(record, keep.runsOf(record));
  const target = await prepare(invocation, findPart(record.chip), (part) => {
    if (part && image.bytes.length > part.cells) {
      const texts = { image: image.name, chip: part.name, last: addressText(part.cells - 1, part.cells) };
      throw new ToolError('job.image-beyond-chip', {
        ...texts,
        address: addressText(image.bytes.length - 1, image.bytes.length),
      });
    }
  });
  const remark = await seatedChipRemark(invocation.world, target);
  if (remark !== null) invocation.world.stderr.write(`${remark}\n`);
  const range = rangeOf({}, target.part);
  return runBurn(invocation, target, { image, range, describe: null, restores: record.id });
};
