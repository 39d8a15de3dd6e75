// What the judgement on a readback says, as facts: explanations that reproduce it, near misses, and what would decide.
import type { LineName, WiringFault } from '../chip/wiring-fault.js';
import type { AddressPin, DataPin } from '../plan/rom.js';

export type ExplanationKind =
  | WiringFault['kind']
  | 'two-faults'
  | 'permutation'
  | 'complement'
  | 'reversed-bits'
  | 'blank'
  | 'absent'
  | 'smaller-chip'
  | 'page-too-large'
  | 'pages-missing'
  | 'pages-elsewhere'
  | 'swapped-images'
  | 'shifted'
  | 'unsteady';

/** Where every line goes: the reader's address line `i` to the chip's `address[i]`, the chip's data line `j` to the reader's `data[j]`. */
export interface Permutation {
  readonly address: readonly number[];
  readonly data: readonly number[];
}

/** What every pin of a ROM carries as the wiring is; `pinListYaml` of the plan room writes it down. */
export interface CorrectedPins {
  readonly address: readonly AddressPin[];
  readonly data: readonly DataPin[];
}

/** Cells side by side, the last one included. */
export interface Stretch {
  readonly from: number;
  readonly to: number;
}

/** What would have happened. */
export type Cause =
  /** The wires in `faults` are as named. */
  | {
      readonly is: 'wires';
      readonly when: 'reading' | 'burning' | 'both';
      /** Where an open line floats. */
      readonly level: 0 | 1 | null;
      /** Nothing from this address up was written, since the burn stopped. */
      readonly stoppedAt: number | null;
      /** Of the burn only so many blocks here and there were written. */
      readonly blocksWritten: number | null;
    }
  /** The address line has now one level and now the other: `low` and `high` count the telling bytes of each. */
  | {
      readonly is: 'wandering';
      readonly line: LineName;
      readonly low: number;
      readonly high: number;
      /** Bytes with the right level, and with the wrong one. */
      readonly right: number;
      readonly wrong: number;
      /** Nearly always the same level: so reads what was burned through the line over bytes of which some were right. */
      readonly isSteady: boolean;
    }
  /** The data line changes between passes, at so many addresses. */
  | { readonly is: 'flickering'; readonly line: LineName; readonly addresses: number }
  | {
      readonly is: 'moved-lines';
      /** How many permutations fit; a lower bound where that is not exact. */
      readonly count: number;
      readonly countIsExact: boolean;
      /** Chip lines that this image does not tell apart. */
      readonly exchangeable: readonly (readonly LineName[])[];
    }
  | { readonly is: 'complement' }
  | { readonly is: 'reversed-bits' }
  /** `line`: the data line that is stuck low besides. */
  | { readonly is: 'blank'; readonly byte: number; readonly line: LineName | null }
  /** `isShown`: in the presence test all data lines followed the charge. */
  | { readonly is: 'absent'; readonly byte: number; readonly isShown: boolean }
  /** A chip of so many cells holds the part of the image that was burned last, or the first part. */
  | { readonly is: 'smaller-chip'; readonly cells: number; readonly holds: 'last' | 'first' }
  /** Blocks of `block` bytes went into pages of `page`; of each block the page named first, or last, was written. */
  | { readonly is: 'page-too-large'; readonly block: number; readonly page: number; readonly kept: 'first' | 'last' }
  | {
      readonly is: 'pages';
      /** Bytes of one page; they are called blocks where no part says its page, and cells where it is 1. */
      readonly size: number;
      readonly isPartsPage: boolean;
      readonly missing: readonly Stretch[];
      readonly missingCount: number;
      readonly moved: readonly { readonly at: Stretch; readonly holds: Stretch }[];
      /** Nothing from this address up was written. */
      readonly stoppedAt: number | null;
      /** What the chip held before is not known, and FF supposed. */
      readonly isErased: boolean;
      /** The part has protection codes, or no part is known. */
      readonly mayBeProtected: boolean;
    }
  /** Cells that did not take their byte, and what a line of the burn left out behind each. */
  | {
      readonly is: 'refusing-cells';
      readonly cells: readonly number[];
      readonly left: readonly Stretch[];
      readonly isErased: boolean;
    }
  | { readonly is: 'another-image'; readonly name: string }
  /** The image sits so many bytes too high (negative: too low). */
  | { readonly is: 'shifted'; readonly by: number; readonly edge: 'wrapped' | 'erased' }
  /** `many`: so many cells seldom change by themselves. */
  | { readonly is: 'unsteady'; readonly count: number; readonly first: number; readonly many: boolean };

/** What to measure to be sure. `rival`: what speaks for it otherwise. */
export type Measurement =
  /** Held at `address`, `line` has `level` at the chip. */
  | {
      readonly is: 'level';
      readonly address: number;
      readonly line: LineName;
      readonly level: 0 | 1;
      readonly rival: 'other' | 'sound';
    }
  /** A chip that holds `byte` shows `shows`, and by the rival `otherwise`. */
  | {
      readonly is: 'byte';
      readonly byte: number;
      readonly shows: number;
      readonly otherwise: number;
      readonly rival: 'other' | 'sound';
    }
  | { readonly is: 'open-or-stuck'; readonly line: LineName }
  | { readonly is: 'follow'; readonly lines: readonly LineName[] }
  /** What the cause itself calls for. */
  | { readonly is: 'by-cause' };

export interface Explanation {
  readonly kind: ExplanationKind;
  readonly cause: Cause;
  /** The wiring faults it names, from the reader to the chip; empty where no wire is blamed. */
  readonly faults: readonly WiringFault[];
  readonly permutation: Permutation | null;
  /** Faults it takes, counted: the fewer, the simpler. */
  readonly cost: number;
  /** Differing addresses whose byte it predicts. */
  readonly explains: number;
  /** Addresses that the image does not define and whose byte it predicts from the image. */
  readonly elsewhere: number;
  /** Differing addresses of which it says nothing, since by it they read cells that the image does not define. */
  readonly silent: readonly number[];
  /** Addresses where it predicts another byte than was read. */
  readonly unexplained: readonly number[];
  /**
   * It predicts every byte that was read, wherever the wanted image says enough to predict one, and what it predicts outweighs
   * what it leaves to undefined cells.
   */
  readonly exact: boolean;
  readonly measurement: Measurement;
  /** The plan's pins as the wiring is, so that the image follows it; null unless lines changed places and the ROM's plan is known. */
  readonly correctedPins: CorrectedPins | null;
}

/** A difference as it looks, without a cause. */
export interface Pattern {
  /** The first differing cells, with what they read and should. */
  readonly cells: readonly { readonly address: number; readonly actual: number; readonly wanted: number }[];
  /** All of them lie within. */
  readonly within: Stretch | null;
  /** Address lines that are high, or low, at every differing cell. */
  readonly high: readonly LineName[];
  readonly low: readonly LineName[];
  /** Data lines that are wrong anywhere, and whether always the same way. */
  readonly lines: readonly LineName[];
  readonly always: 0 | 1 | null;
  /** Cells that did not read the same in every pass, and the data lines that changed. */
  readonly unsteady: { readonly count: number; readonly lines: readonly LineName[] } | null;
}

/** What helps to know what to do about a difference that nothing explains. */
export interface Advice {
  readonly trouble: 'few' | 'many' | 'unsteady';
  /** Something comes near, and is to be settled first. */
  readonly hasNear: boolean;
  readonly passes: number;
  readonly knowsBefore: boolean;
  /** What a burn would write again; null where no part is known. */
  readonly burns: { readonly pageBytes: number; readonly pages: number; readonly first: Stretch } | null;
}

export interface ReadbackVerdict {
  /** Every defined byte read as wanted, in every pass. */
  readonly healthy: boolean;
  readonly cells: number;
  /** Defined cells, which are the ones compared. */
  readonly compared: number;
  readonly differing: number;
  /** Exact explanations, simplest first. */
  readonly explanations: readonly Explanation[];
  /**
   * Single faults that nothing contradicts and nothing shows: by them what differs reads cells that the image does not define.
   * They are suspected of nothing, and not ruled out either. Left out where an explanation says more.
   */
  readonly unjudged: readonly { readonly fault: WiringFault; readonly cause: Cause }[];
  /** Exact explanations that were found beyond those listed. */
  readonly notListed: number;
  /** Indices into `explanations`: those in one group fit equally well and are equally simple. Groups of one are left out. */
  readonly equallyGood: readonly (readonly number[])[];
  /** Near misses, best first; only where nothing is exact. */
  readonly partial: readonly Explanation[];
  /** How the difference looks and what to do, where no explanation on the list reproduces it. */
  readonly pattern: Pattern | null;
  readonly advice: Advice | null;
  /** Cells that the image does not define and that did not read the same in every pass. */
  readonly unsteadyUndefined: number;
}
