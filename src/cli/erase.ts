// romkiln erase: FF wherever it is not FF, through the same job as a burn.
import { imageOfBytes } from '../image/image.js';
import { runBurn } from './burn-image.js';
import type { Execute } from './command.js';
import { rangeOf } from './range-option.js';
import { prepare } from './target.js';

export const execute: Execute = async (invocation) => {
  const target = await prepare(invocation, null, (part) => part && rangeOf(invocation.options, part));
  const image = imageOfBytes('all FF', new Uint8Array(target.part.cells).fill(0xff));
  return runBurn(invocation, target, { image, range: target.also!, describe: null });
};
