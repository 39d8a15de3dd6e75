// What a reader has to say about a file: mistakes, which refuse it, and warnings, which do not.

import { at, type Place } from '../ground/errors/row.js';
import { type ErrorCode, type FactsOf, ToolError, ToolErrors } from '../ground/errors.js';

export type WarningKind =
  | 'gap'
  | 'empty'
  | 'blank-line'
  | 'same-bytes-twice'
  | 'segment-wrap'
  | 'end-address'
  | 'end-type'
  | 'mixed-types'
  | 'late-header'
  | 'looks-like';

/** Something odd that does not refuse the file; the same oddity is told once, with its count. */
export interface ImageWarning {
  readonly kind: WarningKind;
  readonly count: number;
  /** One sentence for people, with the place where there is one. */
  readonly text: string;
}

/** More mistakes than this say nothing new about a file. */
const mistakesMax = 10;

export class ReadingLog {
  private readonly mistakes: ToolError[] = [];
  private readonly oddities = new Map<WarningKind, { count: number; says: (count: number) => string }>();

  /** A mistake of one line, whatever came before it. Returns what a reader makes of such a line: null. */
  mistake<C extends ErrorCode>(code: C, facts: FactsOf<C>): null {
    this.mistakes.push(new ToolError(code, facts));
    return null;
  }

  /** A mistake that may follow from an earlier one (an address after a lost record): said only when it is the first. */
  consequence<C extends ErrorCode>(code: C, facts: FactsOf<C>): void {
    if (this.clean) this.mistake(code, facts);
  }

  get clean(): boolean {
    return this.mistakes.length === 0;
  }

  get full(): boolean {
    return this.mistakes.length >= mistakesMax;
  }

  /** `says` makes the sentence from the count; the first one given for a kind stays. */
  warn(kind: WarningKind, says: (count: number) => string): void {
    const known = this.oddities.get(kind);
    if (known) known.count += 1;
    else this.oddities.set(kind, { count: 1, says });
  }

  /** A warning that has a first place. */
  warnAt(kind: WarningKind, place: Place, what: (count: number) => string): void {
    this.warn(kind, (count) => `${at(place)}: ${what(count)}${count > 1 ? ', the first of them here' : ''}.`);
  }

  has(kind: WarningKind): boolean {
    return this.oddities.has(kind);
  }

  get warnings(): readonly ImageWarning[] {
    return [...this.oddities].map(([kind, o]) => ({ kind, count: o.count, text: o.says(o.count) }));
  }

  /** Throws the one mistake, or all of them together. */
  throwMistakes(): void {
    const [first, second] = this.mistakes;
    if (second) throw new ToolErrors(this.mistakes);
    if (first) throw first;
  }
}
