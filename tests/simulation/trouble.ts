// What goes wrong in a simulated run, as data: a list that is drawn from a seed, printed, cut down and replayed.
import type { LineName, WiringFault } from '../../src/chip/wiring-fault.js';
import { spellWiringFault } from '../../src/chip/wiring-fault.js';
import type { Mishap, MishapKind, RunSize, Way } from '../mock/mishap.js';

/** What is wrong with the chip itself, the whole run long. Addresses are those of its own cells. */
export type ChipTrouble =
  | { readonly kind: 'absent' | 'never-ready' | 'slow' | 'protected' }
  /** One bit of this cell has a level of its own. */
  | { readonly kind: 'weak'; readonly address: number; readonly bit: number; readonly level: 0 | 1 }
  /** This cell reads now so, now so. */
  | { readonly kind: 'unsteady'; readonly address: number; readonly bit: number }
  /** The page of this cell takes nothing. */
  | { readonly kind: 'dead'; readonly address: number }
  /** The cells of this page have reached the end of their life. */
  | { readonly kind: 'worn'; readonly address: number }
  /** Fewer cells than its name says. */
  | { readonly kind: 'smaller'; readonly cells: number };

/** What happens at the host, counted in lines that it sent. */
export type HostTrouble =
  | { readonly kind: 'interrupted'; readonly line: number }
  /** The process is killed as it hands this line over: it does nothing more, and its port is closed. */
  | { readonly kind: 'killed'; readonly line: number }
  /** A person who is asked something does not say yes: presses Ctrl-C, or has no input left. */
  | { readonly kind: 'unanswered'; readonly how: 'interrupt' | 'end' }
  /** From the beginning something stands in keep and book that the tool did not write. */
  | { readonly kind: 'damaged-records'; readonly how: DamageKind }
  /** From this line on nothing can be written to the disk. */
  | { readonly kind: 'disk-full'; readonly line: number };

export const damageKinds = ['cut record', 'strange record', 'forged record', 'torn line', 'strange line'] as const;
export type DamageKind = (typeof damageKinds)[number];

/** The writer is another one than was expected, until the mishaps are lifted. */
export type WriterTrouble =
  | { readonly kind: 'older' }
  | { readonly kind: 'lacks'; readonly word: 'sum' | 'presence' | 'registers' };

export type Trouble =
  | ({ readonly at: 'chip' } & ChipTrouble)
  | { readonly at: 'wires'; readonly kind: 'miswired'; readonly fault: WiringFault }
  | ({ readonly at: 'host' } & HostTrouble)
  | ({ readonly at: 'writer' } & WriterTrouble)
  | { readonly at: 'line'; readonly kind: MishapKind; readonly mishap: Mishap };

export type TroubleKind = Trouble['kind'];
export type Of<At extends Trouble['at']> = Extract<Trouble, { at: At }>;

export const troublesAt = <At extends Trouble['at']>(troubles: readonly Trouble[], at: At): Of<At>[] =>
  troubles.filter((t): t is Of<At> => t.at === at);
export const has = (troubles: readonly Trouble[], ...kinds: TroubleKind[]): boolean =>
  troubles.some((t) => kinds.includes(t.kind));

/** Kinds that end when the mishaps are lifted; a bad chip and bad wires stay. */
export const isLasting = (t: Trouble): boolean => t.at === 'chip' || t.at === 'wires';

/** One trouble in a few words. */
export function spellTrouble(trouble: Trouble): string {
  if (trouble.at === 'wires') return `wires: ${spellWiringFault(trouble.fault)}`;
  const { at, kind, ...facts } = trouble;
  const inner = 'mishap' in facts ? facts.mishap : facts;
  const words = Object.entries(inner)
    .filter(([name]) => name !== 'kind')
    .map(([name, value]) => `${name} ${Array.isArray(value) ? `[${value.length} bytes]` : value}`);
  return `${at}: ${kind}${words.length > 0 ? `, ${words.join(', ')}` : ''}`;
}

export type { LineName, Mishap, MishapKind, RunSize, Way, WiringFault };
