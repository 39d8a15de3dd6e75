// Files, handed in: what rooms above cli may do with them. cli owns the only implementation.

/** All paths are as the user named them; a failure is a ToolError that names the path. Synchronous: files here are small. */
export interface Files {
  /** The bytes of a file. Throws cli.file-missing or cli.file-unreadable. */
  read(path: string): Uint8Array;
  /** The bytes of a file, or null where there is none. */
  readIfThere(path: string): Uint8Array | null;
  /** The last bytes of a file, at most so many, and whether that is all of it; null where there is none. */
  readEnd(path: string, mostBytes: number): { readonly bytes: Uint8Array; readonly isWhole: boolean } | null;
  /**
   * Writes under a temporary name beside the target and renames, so that no reader ever meets half a file.
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
  /** The one whole path of what stands there, with links followed; only whole where nothing stands there. */
  truePath(path: string): string;
}
