// Files, handed in: what rooms above cli may do with them. cli owns the only implementation.

/** What stands at a path, links followed. */
export interface Standing {
  /** A stream takes what is written to it: a device, a pipe; standard output by one of its names is told apart. */
  readonly kind: 'nothing' | 'file' | 'folder' | 'stream' | 'standard output';
  /** The same for every name of one thing. */
  readonly identity: string;
  /** How many names the system has for it (hard links). */
  readonly names: number;
}

/** All paths are as the user named them; a failure is a ToolError that names the path. Synchronous: files here are small. */
export interface Files {
  /** The bytes of a regular file. Throws cli.file-missing or cli.file-unreadable; a pipe could keep everybody waiting, so it is refused. */
  read(path: string): Uint8Array;
  /** The bytes of a file, or null where there is none. */
  readIfThere(path: string): Uint8Array | null;
  /** The last bytes of a file, at most so many, and whether that is all of it; null where there is none. */
  readEnd(path: string, mostBytes: number): { readonly bytes: Uint8Array; readonly isWhole: boolean } | null;
  /**
   * Writes under a temporary name beside the target and renames, so that no reader ever meets half a file. What stands there
   * stays what it is: a link is written through, a device or pipe is written to, a mode is kept, a read-only file is refused.
   * `synced`: on the disk (not only with the system) before it returns.
   */
  replace(path: string, data: Uint8Array | string, options?: { readonly synced?: boolean }): void;
  /** Throws what `replace` would, as far as that can be told beforehand; nothing is changed. For files that take long to come by. */
  checkReplace(path: string): void;
  /** Adds to the end of a file in one write, synced; makes the file where there is none. */
  append(path: string, text: string): void;
  /** Makes a folder and its parents; nothing where it is there already. */
  makeFolder(path: string): void;
  /** Names in a folder, sorted; empty where there is none. */
  list(path: string): readonly string[];
  remove(path: string): void;
  standing(path: string): Standing;
  /** Where the link at this path points, as it is written there; null where no link stands. */
  linkAt(path: string): string | null;
  /** The one whole path of what stands there, with links followed; only whole where nothing stands there. */
  truePath(path: string): string;
}
