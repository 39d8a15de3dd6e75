// What the judgement on a readback says: explanations that reproduce it, near misses, and what would decide.
import type { WiringFault } from '../chip/wiring-fault.js';
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

export interface Explanation {
  readonly kind: ExplanationKind;
  /** One sentence. */
  readonly text: string;
  /** The wiring faults it names, from the reader to the chip; empty where no wire is blamed. */
  readonly faults: readonly WiringFault[];
  readonly permutation: Permutation | null;
  /** Faults it takes, counted: the fewer, the simpler. */
  readonly cost: number;
  /** Differing addresses whose byte it predicts. */
  readonly explains: number;
  /** Differing addresses of which it says nothing, since by it they read cells that the image does not define. */
  readonly silent: readonly number[];
  /** Addresses where it predicts another byte than was read. */
  readonly unexplained: readonly number[];
  /**
   * It predicts every byte that was read, wherever the wanted image says enough to predict one, and what it predicts outweighs
   * what it leaves to undefined cells.
   */
  readonly exact: boolean;
  readonly evidence: readonly string[];
  /** What to do next to be sure, in one sentence. */
  readonly nextMeasurement: string;
  /** The plan's pins as the wiring is, so that the image follows it; null unless lines changed places and the ROM's plan is known. */
  readonly correctedPins: CorrectedPins | null;
}

export interface ReadbackVerdict {
  /** Every defined byte read as wanted, in every pass. */
  readonly healthy: boolean;
  /** Defined cells, which are the ones compared. */
  readonly compared: number;
  readonly differing: number;
  /** Exact explanations, simplest first. */
  readonly explanations: readonly Explanation[];
  /**
   * Single faults that nothing contradicts and nothing shows: by them what differs reads cells that the image does not define.
   * They are suspected of nothing, and not ruled out either. Left out where an explanation says more.
   */
  readonly unjudged: readonly { readonly fault: WiringFault; readonly text: string }[];
  /** Exact explanations that were found beyond those listed. */
  readonly notListed: number;
  /** Indices into `explanations`: those in one group fit equally well and are equally simple. Groups of one are left out. */
  readonly equallyGood: readonly (readonly number[])[];
  /** Near misses, best first; only where nothing is exact. */
  readonly partial: readonly Explanation[];
  /** The simplest description of the pattern where no explanation on the list reproduces it. */
  readonly noneOfThese: string | null;
  /** What to do where no explanation reproduces it, step by step; names no cause. Empty otherwise. */
  readonly nextSteps: readonly string[];
  /** What this readback cannot show, in plain sentences. */
  readonly bounds: readonly string[];
}
