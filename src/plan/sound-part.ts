// Contents that their schema refuses, without what it refused: the rest is judged all the same, so that one mistake hides no other.
import type { Finding, Path } from './table.js';

/** What contents of one kind may have wrong without making the rest less clear. */
export interface Forgiving {
  /** Keys that can be left out, and what is found in the rest stays true. */
  readonly leaveOut: readonly string[];
  /** Keys of lists and maps, and what a wrong item of theirs is taken for. */
  readonly standIns: Readonly<Record<string, unknown>>;
}

type Contents = Readonly<Record<string, unknown>>;

export interface SoundPart {
  readonly contents: Contents;
  /** What was taken out of it. */
  readonly without: readonly Path[];
}

/** The contents without what these findings of their shape name; null where the rest leans on that. */
export function soundPart(
  contents: Contents,
  findings: readonly Finding[],
  { leaveOut, standIns }: Forgiving,
): SoundPart | null {
  const sound: Record<string, unknown> = { ...contents };
  const without: Path[] = [];
  for (const { path, onKey } of findings) {
    const [key, item] = path;
    if (key === undefined) return null;
    if (leaveOut.includes(String(key))) {
      delete sound[key];
      without.push([key]);
    } else if (item !== undefined && key in standIns) {
      sound[key] = withStandIn(sound[key], item, onKey && path.length === 2 ? undefined : standIns[key]);
      without.push([key, item]);
    } else return null;
  }
  return { contents: sound, without };
}

/** Of a list or map; an item of a map goes where there is no stand-in for it, because its very name is wrong. */
function withStandIn(items: unknown, item: string | number, standIn: unknown): unknown {
  if (Array.isArray(items)) return items.map((each, i) => (i === item ? standIn : each));
  const { [item]: _, ...others } = items as Contents;
  return standIn === undefined ? others : { ...(items as Contents), [item]: standIn };
}

/** True where a path is one of these places or leads into one. */
export const isAt = (path: Path, places: readonly Path[]): boolean =>
  places.some((place) => place.every((step, i) => path[i] === step));
