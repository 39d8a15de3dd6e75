// The keep and the book of this user, and how a task names itself in them.
import type { Image } from '../image/image.js';
import { type Job, openRecords, type Records } from '../job/recorded-write.js';
import type { ChipSession } from './session.js';
import type { Surroundings } from './surroundings.js';

/** What a task is called in the book, and what its chip is called on the bench. */
export interface Errand {
  readonly command: string;
  readonly label: string | null;
}

export const recordsOf = (around: Surroundings): Records =>
  openRecords(around.dataFiles, around.dataFolder, {
    wallTime: () => around.wallTime(),
    onLineMissing: (error) => around.tell({ kind: 'aside', error }),
  });

export const jobOf = ({ command, label }: Errand, { part, port, writer }: ChipSession, image: Image | null): Job => ({
  ...{ command, label, part, image },
  writer: { port: port.path, build: writer.introduction.build },
  retries: () => writer.counts.resent,
});
