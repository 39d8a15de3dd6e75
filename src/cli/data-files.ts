// Files of the data folder, where keep and book stand: nobody named their paths, so an error says what does.
import { ToolError } from '../ground/errors.js';
import type { Files } from '../ground/files.js';

/** What failed in the data folder, in words for who never named a file there. Others are handed on as they are. */
function ofDataFolder(error: unknown): unknown {
  const cause = { cause: error };
  if (ToolError.is(error, 'cli.file-unwritable'))
    return new ToolError('cli.data-folder', { ...error.facts, verb: 'written' }, cause);
  if (ToolError.is(error, 'cli.file-unreadable'))
    return new ToolError('cli.data-folder', { ...error.facts, verb: 'read' }, cause);
  return error;
}

/** Every call of `files`, its errors in those words: cli.data-folder. */
export const dataFiles = (files: Files): Files =>
  new Proxy(files, {
    get(target, name) {
      const action: unknown = Reflect.get(target, name);
      if (typeof action !== 'function') return action;
      return (...words: unknown[]): unknown => {
        try {
          return action.apply(target, words);
        } catch (error) {
          throw ofDataFolder(error);
        }
      };
    },
  });
