// romkiln suspects: from a readback, or from what the display shows on the bench, to the likeliest fault.
import { ToolError } from '../ground/errors.js';
import { exit } from '../ground/exit.js';
import { addressText } from '../ground/quantity.js';
import { definedCount } from '../image/defined-runs.js';
import type { Image } from '../image/image.js';
import { pinListYaml } from '../plan/plan.js';
import { readbackVerdictText } from '../report/suspect-text.js';
import { readbackWords } from '../report/suspect-words.js';
import { explainReadback } from '../suspect/explain-readback.js';
import { type Execute, flagOption, type Invocation, textOption } from './command.js';
import { loadSource, loadSources, plannedPart } from './source.js';
import { suspectsOnTheBench } from './suspects-bench.js';
import { namedPart } from './target.js';
import type { World } from './world.js';

/** A readback as the bytes of the whole chip. Throws suspect.gaps: an absent byte is no byte that was read. */
async function readbackBytes(world: World, path: string): Promise<Uint8Array> {
  // Reading a file again as an image of the chip's size would hide a short readback, so each is taken as it is.
  const { image } = await loadSource(world, path, {});
  const { bytes, defined } = image;
  const [first, last] = [defined.indexOf(0), defined.lastIndexOf(0)];
  if (first < 0) return bytes;
  throw new ToolError('suspect.gaps', {
    path,
    count: bytes.length - definedCount(image),
    first: addressText(first, bytes.length),
    last: addressText(last, bytes.length),
  });
}

/**
 * What the chip held before it was burned, from the keep or a dump. A keep has only the cells that a burn was to overwrite: of
 * the others those that the image defines were right already, and the rest stayed as it is read now. Throws suspect.other-size.
 */
async function bytesBefore(world: World, path: string, wanted: Image, readback: Uint8Array): Promise<Uint8Array> {
  const { bytes, defined } = (await loadSource(world, path, {})).image;
  if (bytes.length > readback.length)
    throw new ToolError('suspect.other-size', { what: path, cells: bytes.length, readbackBytes: readback.length });
  return readback.map((read, a) => (defined[a] === 1 ? bytes[a]! : wanted.defined[a] === 1 ? wanted.bytes[a]! : read));
}

async function fromReadback(invocation: Invocation): Promise<number> {
  const { world, operands, options, command } = invocation;
  const [wantedPath = '', ...readbackPaths] = operands;
  const wanted = await loadSource(world, wantedPath, options);
  // Where nothing was wanted nothing can be wrong.
  if (definedCount(wanted.image) === 0) throw new ToolError('image.empty', { file: wanted.name });
  const others = (await loadSources(world, wantedPath, { ...options, rom: undefined })).filter(
    (s) => s.rom !== wanted.rom,
  );
  const passes: Uint8Array[] = [];
  for (const path of readbackPaths) passes.push(await readbackBytes(world, path));
  const [readback, ...more] = passes;
  if (readback === undefined)
    throw new ToolError('cli.missing-argument', {
      command,
      argument: 'readback',
      usage: 'romkiln suspects <image|plan> <readback...>, or with --bench without one',
    });
  const beforePath = textOption(options, 'before');
  const before = beforePath === null ? null : await bytesBefore(world, beforePath, wanted.image, readback);
  // Also for a readback the plan's chip counts, unless another is named.
  const named = namedPart(world, options);
  const part = named ?? plannedPart(wanted);
  if (named && named.cells !== readback.length)
    throw new ToolError('suspect.other-size', {
      what: named.name,
      cells: named.cells,
      readbackBytes: readback.length,
    });
  const verdict = explainReadback(wanted.image, readback, {
    others: others.map((s) => s.image),
    passes: more,
    ...(part && { part }),
    ...(before && { before }),
    ...(wanted.rom && { rom: wanted.rom }),
  });
  if (flagOption(options, 'json')) world.stdout.write(`${JSON.stringify({ command, ...readbackWords(verdict) })}\n`);
  else world.stdout.write(readbackVerdictText(verdict, (pins) => pinListYaml(pins.address, pins.data)));
  return verdict.healthy ? exit.done : exit.differs;
}

export const execute: Execute = (invocation) => {
  const { options } = invocation;
  const bench = flagOption(options, 'bench') || textOption(options, 'seen') !== null || flagOption(options, 'next');
  return bench ? suspectsOnTheBench(invocation) : fromReadback(invocation);
};
