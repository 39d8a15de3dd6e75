// Names and spelling of wiring faults: the emulator makes them, suspect infers them, and both say them in these words.
import { ToolError } from '../ground/errors.js';

/** One line between the chip and what drives it. */
export type LineName = `A${number}` | `D${number}`;

export type WiringFault =
  /** An address line reads a level of its own at the chip; a data line keeps its last charge. */
  | { readonly kind: 'open'; readonly line: LineName }
  | { readonly kind: 'stuck'; readonly line: LineName; readonly level: 0 | 1 }
  | { readonly kind: 'inverted'; readonly line: LineName }
  | { readonly kind: 'crossed'; readonly lines: readonly [LineName, LineName] }
  /** Two lines joined: both carry the AND (low wins) or the OR (high wins) of the two. */
  | { readonly kind: 'shorted'; readonly lines: readonly [LineName, LineName]; readonly wins: 'low' | 'high' };

/** The widest address that any writer can carry. */
const addressLinesMax = 24;
const dataLines = 8;

const lineNumber = (line: LineName): number => Number(line.slice(1));

/** The line that a word names, or null: A0 to A23, D0 to D7, no leading zeros, any case. */
function lineOf(word: string): LineName | null {
  const match = /^([AD])(0|[1-9]\d?)$/.exec(word.toUpperCase());
  if (!match) return null;
  return Number(match[2]) < (match[1] === 'A' ? addressLinesMax : dataLines) ? (match[0] as LineName) : null;
}

/** How one kind of fault is written, by an example, and what it does. */
export interface FaultShape {
  readonly example: string;
  readonly effect: string;
}

export const wiringFaultShapes: Readonly<Record<WiringFault['kind'], FaultShape>> = {
  open: { example: 'A4 open', effect: 'the wire of this line is off the chip' },
  stuck: { example: 'D0 stuck 1', effect: 'the line has this level whatever drives it' },
  inverted: { example: 'D3 inverted', effect: 'the line carries the other level' },
  crossed: { example: 'A4 A7 crossed', effect: 'the two lines are swapped' },
  shorted: { example: 'D1 D2 shorted low', effect: 'the two lines touch, and where they differ this level wins' },
};

/** The examples in one line. */
export const examplesOf = (shapes: Readonly<Record<string, FaultShape>>): string =>
  Object.values(shapes)
    .map((s) => s.example)
    .join(', ');

/**
 * Reads one wiring fault in the words of `spellWiringFault`. A pair is put in rising order, so that one fault has one
 * spelling. Throws chip.wiring-fault.
 */
export function parseWiringFault(text: string): WiringFault {
  const fail = (problem: string): never => {
    throw new ToolError('chip.wiring-fault', { text, problem, shapes: examplesOf(wiringFaultShapes) });
  };
  const words = text.trim().split(/\s+/);
  const lineWords = words.filter((w) => /^[AD]\d/i.test(w));
  const lines = lineWords.map((w) => lineOf(w) ?? fail(`there is no line ${w}`));
  const action = words.slice(lines.length).join(' ').toLowerCase();
  const [first, second] = lines;
  if (!first || lineWords.some((w, i) => w !== words[i])) return fail('it does not begin with a line');
  if (!second) {
    if (action === 'open' || action === 'inverted') return { kind: action, line: first };
    if (action === 'stuck 0' || action === 'stuck 1') {
      return { kind: 'stuck', line: first, level: action === 'stuck 1' ? 1 : 0 };
    }
    return fail(`"${action}" is no fault of one line`);
  }
  if (lines.length > 2) return fail('it names more than two lines');
  if (first === second) return fail(`it names ${first} twice`);
  if (first[0] !== second[0]) return fail('it joins an address line and a data line');
  const pair = lineNumber(first) < lineNumber(second) ? ([first, second] as const) : ([second, first] as const);
  if (action === 'crossed') return { kind: 'crossed', lines: pair };
  if (action === 'shorted low' || action === 'shorted high') {
    return { kind: 'shorted', lines: pair, wins: action === 'shorted low' ? 'low' : 'high' };
  }
  return fail(`"${action}" is no fault of two lines`);
}

/** The lines that a fault is on: one or two. */
export const linesOf = (fault: WiringFault): readonly LineName[] => ('lines' in fault ? fault.lines : [fault.line]);

/** True where two faults are on a line in common. */
export const sharesLine = (one: WiringFault, other: WiringFault): boolean =>
  linesOf(one).some((line) => linesOf(other).includes(line));

export const sameFault = (one: WiringFault, other: WiringFault): boolean =>
  JSON.stringify(one) === JSON.stringify(other);

/** One fault in words: `A4 open`, `D0 stuck 1`, `D3 inverted`, `A4 A7 crossed`, `D1 D2 shorted low`. */
export function spellWiringFault(fault: WiringFault): string {
  if ('lines' in fault) {
    const pair = [...fault.lines].sort((a, b) => lineNumber(a) - lineNumber(b)).join(' ');
    return fault.kind === 'shorted' ? `${pair} shorted ${fault.wins}` : `${pair} crossed`;
  }
  return fault.kind === 'stuck' ? `${fault.line} stuck ${fault.level}` : `${fault.line} ${fault.kind}`;
}
