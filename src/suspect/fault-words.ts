// Faults said in words.
import { type LineName, linesOf, type WiringFault } from '../chip/wiring-fault.js';
import { busOf } from './line-map.js';

const level = (v: 0 | 1): string => (v === 1 ? 'high' : 'low');

export const busWord = (line: LineName): string => (busOf(line) === 'A' ? 'address' : 'data');

/** One fault in words, without a full stop: "address lines A3 and A7 are crossed". */
export const faultWords = (fault: WiringFault): string => {
  const first = linesOf(fault)[0]!;
  const bus = busWord(first);
  switch (fault.kind) {
    case 'open':
      return busOf(first) === 'A'
        ? `address line ${first} is open and floats at a level of its own`
        : `data line ${first} is open and keeps its last charge`;
    case 'stuck':
      return `${bus} line ${first} is stuck ${level(fault.level)}`;
    case 'inverted':
      return `${bus} line ${first} is inverted`;
    case 'crossed':
      return `${bus} lines ${fault.lines[0]} and ${fault.lines[1]} are crossed`;
    case 'shorted':
      return `${bus} lines ${fault.lines[0]} and ${fault.lines[1]} are shorted (${fault.wins} wins)`;
  }
};

/** "and was so": what a fault did at another time. */
export const wasSo = (fault: WiringFault): string => (linesOf(fault).length === 1 ? 'and was so' : 'and were so');

/** Several faults in words; `more` is said behind each. */
export const faultsWords = (faults: readonly WiringFault[], more: (fault: WiringFault) => string = () => ''): string =>
  faults.map((fault) => faultWords(fault) + more(fault)).join(', and ');

/** Upper-case first letter and a full stop. */
export const sentence = (words: string): string => `${words.charAt(0).toUpperCase()}${words.slice(1)}.`;

/** The words that go with a count: agrees for one, agree for none and for several. */
export const verbFor = (count: number, one: string, several: string): string => (count === 1 ? one : several);

/** "A0, A3 and A7". */
export const listWords = (words: readonly string[], last = 'and'): string =>
  words.length < 2 ? (words[0] ?? '') : `${words.slice(0, -1).join(', ')} ${last} ${words[words.length - 1]}`;
