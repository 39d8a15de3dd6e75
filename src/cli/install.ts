// romkiln install: the firmware of this tool into a board, through its serial boot loader.
import { ToolError, ToolErrors } from '../ground/errors.js';
import { countOf } from '../ground/quantity.js';
import { readImage } from '../image/read-image.js';
import { type BootLoader, findBootLoader, loaderRates } from '../loader/boot-loader.js';
import {
  type FirmwarePage,
  installPages,
  pagesHeld,
  pagesOfFirmware,
  requirePart,
} from '../loader/firmware-install.js';
import { firmwareLimits, greetingBaud } from '../protocol/limits.js';
import { type Execute, flagOption, type Invocation } from './command.js';
import { makeProgress, type Progress } from './progress.js';
import { portOf } from './target.js';
import type { World } from './world.js';

const firmwareName = 'romkiln-writer.hex';

/** Pages of the firmware that came with this tool. Throws loader.bad-firmware. */
function shippedPages(world: World): readonly FirmwarePage[] {
  try {
    const { image } = readImage(Buffer.from(world.firmwareHex(), 'latin1'), { file: firmwareName, format: 'hex' });
    return pagesOfFirmware(image.bytes, (address) => image.defined[address] === 1);
  } catch (error) {
    const first = error instanceof ToolErrors ? error.errors[0] : error;
    if (!(first instanceof ToolError) || ToolError.is(first, 'loader.bad-firmware')) throw error;
    throw new ToolError('loader.bad-firmware', { why: first.message });
  }
}

/** What was found, and what was done about it. */
interface Installed {
  readonly loaderBaud: number;
  readonly pages: number;
  /** Pages that the flash held before; null where they were written over unread. */
  readonly held: number | null;
  readonly written: number;
}

async function throughLoader(
  loader: BootLoader,
  pages: readonly FirmwarePage[],
  isDryRun: boolean,
  progress: Progress,
): Promise<Installed> {
  await requirePart(loader);
  const show = (label: string) => (done: number) => progress.show(label, done, pages.length);
  const held = isDryRun ? await pagesHeld(loader, pages, show('flash pages read')) : null;
  if (!isDryRun) await installPages(loader, pages, show('flash pages written'));
  await loader.leave();
  return { loaderBaud: loader.baud, pages: pages.length, held, written: isDryRun ? 0 : pages.length };
}

/** Waits for the new writer to introduce itself. */
async function introduction({ world }: Invocation, path: string) {
  const { openWriter } = await import('../writer/writer.js');
  const link = await world.openSerial(path, { baud: greetingBaud, lineMax: firmwareLimits.line });
  const writer = await openWriter(link);
  await writer.close();
  return writer.introduction;
}

export const execute: Execute = async (invocation) => {
  const { world, options, command } = invocation;
  const isDryRun = flagOption(options, 'dryRun');
  const { path, benchFile } = await portOf(invocation);
  if (benchFile !== null) throw new ToolError('cli.no-loader-there', { port: path });
  const pages = shippedPages(world);
  const progress = makeProgress(world, flagOption(options, 'quiet'));
  const loader = await findBootLoader(world.openSerial, path);
  if (loader === null) throw new ToolError('loader.none', { path, rates: loaderRates });
  let done: Installed;
  try {
    done = await throughLoader(loader, pages, isDryRun, progress);
  } finally {
    progress.end();
    await loader.link.close();
  }
  const writer = isDryRun ? null : await introduction(invocation, path);
  if (flagOption(options, 'json')) {
    const facts = { command, port: path, dryRun: isDryRun, ...done, build: writer?.build ?? null };
    world.stdout.write(`${JSON.stringify(facts)}\n`);
    return 0;
  }
  world.stdout.write(`A boot loader answers on ${path} (${done.loaderBaud} baud), on an ATmega328P.\n`);
  if (writer) {
    world.stdout.write(`Written: ${countOf(done.written, 'page')} of flash, each read back and equal.\n`);
    world.stdout.write(`${writer.build} answers, protocol version ${writer.version}.\n`);
  } else {
    world.stdout.write(`${heldText(done)}\nNothing was written (--dry-run).\n`);
  }
  return 0;
};

const heldText = ({ held, pages }: Installed): string =>
  held === pages
    ? `Its flash holds ${firmwareLimits.build}, as this tool has it.`
    : `Its flash holds another program: ${pages - (held ?? 0)} of ${countOf(pages, 'page')} differ from ${firmwareLimits.build}.`;
