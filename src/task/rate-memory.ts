// The rate that worked on a port last time, one small file for all ports.
import { ToolError } from '../ground/errors.js';
import type { RateMemory } from '../writer/line-rate.js';
import type { Surroundings } from './surroundings.js';

export function rateMemory(
  { files, dataFolder }: Pick<Surroundings, 'files' | 'dataFolder'>,
  port: string,
): RateMemory {
  const file = `${dataFolder}/rates.json`;
  const read = (): Record<string, unknown> => {
    try {
      const value: unknown = JSON.parse(Buffer.from(files.readIfThere(file) ?? []).toString('utf8'));
      return typeof value === 'object' && value !== null ? (value as Record<string, unknown>) : {};
    } catch {
      // What cannot be read is forgotten: the rate is then tried anew.
      return {};
    }
  };
  return {
    recall() {
      const known = read()[port];
      return typeof known === 'number' ? known : null;
    },
    remember(baud) {
      const known = read();
      if (known[port] === baud) return;
      try {
        files.makeFolder(dataFolder);
        files.replace(file, `${JSON.stringify({ ...known, [port]: baud })}\n`);
      } catch (error) {
        // What cannot be written is not remembered; no job ends for that.
        if (!ToolError.is(error, 'cli.file-unwritable')) throw error;
      }
    },
  };
}
