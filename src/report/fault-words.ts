// Wiring faults in words.
import { type LineName, linesOf, type WiringFault } from '../chip/wiring-fault.js';

/** Now, or during a burn that is over. */
export type Tense = 'is' | 'was';

const levelWord = (level: 0 | 1): string => (level === 1 ? 'high' : 'low');

export const busWord = (line: LineName): 'address' | 'data' => (line.startsWith('A') ? 'address' : 'data');

/** Where an open line floats, as far as that is known. */
const openWords = (line: LineName, tense: Tense, level: 0 | 1 | null): string => {
  const isPast = tense === 'was';
  if (busWord(line) === 'address') {
    const where = level === null ? 'at a level of its own' : `${levelWord(level)} at the chip`;
    return `is open and ${isPast ? 'floated' : 'floats'} ${where}`;
  }
  return `is open and ${isPast ? 'kept' : 'keeps'} its last charge${level === null ? '' : `, a ${level}`}`;
};

/** One fault in words, without a full stop: "address lines A3 and A7 are crossed". `level`: where an open line floats. */
export const faultWords = (fault: WiringFault, tense: Tense = 'is', level: 0 | 1 | null = null): string => {
  const [first, second] = linesOf(fault) as readonly [LineName, LineName?];
  const bus = busWord(first);
  const one = `${bus} line ${first}`;
  const both = `${bus} lines ${first} and ${second}`;
  const [be, are] = tense === 'is' ? ['is', 'are'] : ['was', 'were'];
  switch (fault.kind) {
    case 'open':
      return `${one} ${openWords(first, tense, level).replace(/^is/, be)}`;
    case 'stuck':
      return `${one} ${be} stuck ${levelWord(fault.level)}`;
    case 'inverted':
      return `${one} ${be} inverted`;
    case 'crossed':
      return `${both} ${are} crossed`;
    case 'shorted':
      return `${both} ${are} shorted (${fault.wins} wins)`;
  }
};

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
