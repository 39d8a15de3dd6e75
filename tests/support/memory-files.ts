// Files in memory, with a disk that can be made to fail or to stop in the middle of an append.
import { resolve } from 'node:path';
import { ToolError } from '../../src/ground/errors.js';
import type { Files } from '../../src/ground/files.js';

export interface MemoryFiles extends Files {
  readonly stored: Map<string, Uint8Array>;
  /** When set, every write fails with this reason. */
  failing: string | null;
}

export function memoryFiles(initial: Readonly<Record<string, string | Uint8Array>> = {}): MemoryFiles {
  const bytesOf = (data: string | Uint8Array): Uint8Array =>
    new Uint8Array(typeof data === 'string' ? Buffer.from(data, 'utf8') : data);
  const stored = new Map(Object.entries(initial).map(([path, data]) => [path, bytesOf(data)]));
  const files: MemoryFiles = {
    stored,
    failing: null,
    read(path) {
      const found = stored.get(path);
      if (!found) throw new ToolError('cli.file-missing', { path });
      return found;
    },
    readEnd(path, mostBytes) {
      const found = stored.get(path);
      return found ? { bytes: found.slice(-mostBytes), isWhole: found.length <= mostBytes } : null;
    },
    readIfThere: (path) => stored.get(path) ?? null,
    replace(path, data) {
      if (files.failing) throw new ToolError('cli.file-unwritable', { path, reason: files.failing });
      stored.set(path, bytesOf(data));
    },
    checkReplace(path) {
      if (files.failing) throw new ToolError('cli.file-unwritable', { path, reason: files.failing });
    },
    append(path, text) {
      if (files.failing) throw new ToolError('cli.file-unwritable', { path, reason: files.failing });
      stored.set(
        path,
        new Uint8Array(Buffer.concat([stored.get(path) ?? new Uint8Array(), Buffer.from(text, 'utf8')])),
      );
    },
    makeFolder(path) {
      if (files.failing) throw new ToolError('cli.file-unwritable', { path, reason: files.failing });
    },
    list: (path) =>
      [...stored.keys()]
        .filter((k) => k.startsWith(`${path}/`) && !k.slice(path.length + 1).includes('/'))
        .map((k) => k.slice(path.length + 1))
        .sort(),
    remove: (path) => void stored.delete(path),
    standing: (path) => ({ kind: stored.has(path) ? 'file' : 'nothing', identity: resolve(path), names: 1 }),
    linkAt: () => null,
    truePath: (path) => resolve(path),
  };
  return files;
}
