// What a conversation with a writer has to say while it goes on.
import type { Part } from '../chip/part.js';
import type { WriterEvent } from '../writer/writer.js';
import { countOf } from './quantity.js';

export function writerEventText(event: WriterEvent): string {
  switch (event.kind) {
    case 'restarted':
      return `The writer restarted (${event.restarts} so far); the chip is chosen again and the work goes on.`;
    case 'found-again':
      return `The writer fell silent at "${event.request}" and was found again.`;
    case 'rate-fell-back':
      return `The line now runs at ${event.baud} baud.`;
    case 'rate-left':
      return `Too many lines were lost at ${event.from} baud; the job goes on at ${event.baud}.`;
  }
}

export const newBenchText = (part: Part, path: string): string =>
  `A new emulated bench with an ${part.name}, all cells FF, is kept in ${path}.`;

export const registersUnknownText =
  'The writer sees no chain return, so its address registers are not counted; --registers <n> says how many are fitted.';

export const registersCountedText = (counted: number): string =>
  `The writer counts ${countOf(counted, 'address register')}; what --registers says is not used.`;

export const violationsText = (count: number, rules: readonly string[]): string =>
  `The emulated chip saw its data sheet broken ${countOf(count, 'time')}: ${rules.join('; ')}.`;

export const putBackText = 'Every cell of the chip reads as before the check.';

export const maybeProtectedText =
  'The chip may be write-protected now: the codes that switch this on were sent. "romkiln unprotect" switches it off.';
