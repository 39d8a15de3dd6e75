// The keep and the book of this user, and how a command names itself in them.
import type { Image } from '../image/image.js';
import { type Book, openBook } from '../job/book.js';
import { type Keep, openKeep } from '../job/keep.js';
import { type Job, openRecords, type Records } from '../job/recorded-write.js';
import { type Invocation, textOption } from './command.js';
import { dataFiles } from './data-files.js';
import { sayErrors } from './error-text.js';
import type { ChipSession } from './session.js';
import type { World } from './world.js';

export const keepOf = (world: World): Keep => openKeep(dataFiles(world.files), `${world.dataFolder}/keep`);
export const bookOf = (world: World): Book => openBook(dataFiles(world.files), world.dataFolder);

export const recordsOf = ({ world, command }: Invocation, { progress }: Pick<ChipSession, 'progress'>): Records =>
  openRecords(dataFiles(world.files), world.dataFolder, {
    wallTime: world.wallTime,
    onLineMissing: (error) => {
      progress.end();
      sayErrors(error, world, { json: false, command });
    },
  });

export const jobOf = ({ command, options }: Invocation, session: ChipSession, image: Image | null): Job => ({
  command,
  label: textOption(options, 'label'),
  part: session.part,
  writer: { port: session.port.path, build: session.writer.introduction.build },
  image,
  retries: () => session.writer.counts.resent,
});
