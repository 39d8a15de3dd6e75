// Files that live in a map, for tests.
import type { Files } from '../../src/ground/files.js';

export function filesInMemory(): Files & { readonly texts: Map<string, string>; writes: number } {
  const texts = new Map<string, string>();
  const files = {
    texts,
    writes: 0,
    read: (path: string) => new Uint8Array(Buffer.from(texts.get(path)!, 'utf8')),
    readIfThere: (path: string) => (texts.has(path) ? files.read(path) : null),
    readEnd: (path: string) => (texts.has(path) ? { bytes: files.read(path), isWhole: true } : null),
    replace(path: string, data: Uint8Array | string) {
      files.writes++;
      texts.set(path, typeof data === 'string' ? data : Buffer.from(data).toString('utf8'));
    },
    checkReplace() {},
    append: (path: string, text: string) => void texts.set(path, (texts.get(path) ?? '') + text),
    makeFolder() {},
    list: () => [...texts.keys()].sort(),
    remove: (path: string) => void texts.delete(path),
    standing: (path: string) => ({
      kind: texts.has(path) ? ('file' as const) : ('nothing' as const),
      identity: path,
      names: 1,
    }),
    linkAt: () => null,
    truePath: (path: string) => path,
  };
  return files;
}
