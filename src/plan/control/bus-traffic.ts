// Who drives and who loads each bus when several actions are on together; the same for both control stores.
import type { Finding, Path } from '../table.js';

/** What a bus reads while nobody drives it: pulled low, pulled high, or anything. */
export type Undriven = 0 | 1 | 'unknown';
export type Buses = ReadonlyMap<string, Undriven>;

/** A control line or a code of an encoded field, as far as buses are concerned. */
export interface Action {
  readonly name: string;
  readonly drives: readonly string[];
  readonly loads: readonly string[];
}

/** What goes wrong on one bus; `actors` are the drivers of a clash, or the loaders of a bus that nobody drives. */
export interface BusFault {
  readonly kind: 'clash' | 'empty';
  readonly bus: string;
  readonly actors: readonly string[];
}

const quoted = (names: readonly string[]): string => names.map((n) => `"${n}"`).join(' and ');

/** Everything wrong on the buses when exactly these actions are on together. */
export function busFaults(actions: readonly Action[]): readonly BusFault[] {
  const faults: BusFault[] = [];
  for (const bus of new Set(actions.flatMap((a) => [...a.drives, ...a.loads]))) {
    const drivers = actions.filter((a) => a.drives.includes(bus)).map((a) => a.name);
    const loaders = actions.filter((a) => a.loads.includes(bus)).map((a) => a.name);
    if (drivers.length > 1) faults.push({ kind: 'clash', bus, actors: drivers });
    if (drivers.length === 0) faults.push({ kind: 'empty', bus, actors: loaders });
  }
  return faults;
}

/** One fault on a bus in a sentence without its place, e.g. for `look`. */
export const busFaultInWords = (fault: BusFault): string =>
  fault.kind === 'clash'
    ? `${quoted(fault.actors)} drive bus "${fault.bus}" together`
    : `${quoted(fault.actors)} ${fault.actors.length > 1 ? 'load' : 'loads'} from bus "${fault.bus}", which nobody drives`;

/** The finding for one fault. `where` begins the sentence: "`sample-vane`, step 2, when dark=1". */
export function busFinding(fault: BusFault, buses: Buses, where: string, path: Path): Finding {
  if (fault.kind === 'clash') {
    return {
      severity: 'error',
      code: 'bus.two-drivers',
      message: `${where}: ${busFaultInWords(fault)}.`,
      why: 'Two outputs that disagree on one wire give neither value and can harm the parts that drive it.',
      path,
    };
  }
  const undriven = buses.get(fault.bus) ?? 'unknown';
  const known = undriven !== 'unknown';
  return {
    severity: known ? 'warning' : 'error',
    code: 'bus.nobody-drives',
    message: `${where}: ${busFaultInWords(fault)}.`,
    why: known
      ? `The plan says that this bus then reads ${undriven} on every wire, so that is what gets loaded.`
      : 'What gets loaded is then anything; let a line drive the bus in the same step, or say what it reads under "buses".',
    path,
  };
}

/** Findings for bus names that `buses` does not declare; `paths` leads to the meaning of each action. */
export function unknownBuses(
  actions: readonly Action[],
  buses: Buses,
  pathOf: (action: number, key: 'drives' | 'loads') => Path,
): Finding[] {
  return actions.flatMap((action, index) =>
    (['drives', 'loads'] as const).flatMap((key) =>
      action[key]
        .filter((bus) => !buses.has(bus))
        .map(
          (bus): Finding => ({
            severity: 'error',
            code: 'bus.unknown',
            unknown: bus,
            message: `"${action.name}" ${key} bus "${bus}", which "buses" does not name.`,
            why:
              buses.size > 0
                ? `The buses of this plan are ${quoted([...buses.keys()])}.`
                : 'Name each bus under "buses" and say what it reads while nobody drives it: 0, 1 or unknown.',
            path: pathOf(index, key),
          }),
        ),
    ),
  );
}
