// Adds up what the strict chips of all measured jobs complained about: speed counts only while they are silent.
import type { Violation } from '../src/emulator/violation.js';
import { figureRow, type Section } from './row.js';

let broken = 0;

export function noteViolations(violations: readonly Violation[]): void {
  broken += violations.length;
}

export const violationSection = (): Section => ({
  heading: 'The strict chip',
  rows: [figureRow('data sheet rules broken in all of the above', broken, 'times', 0, 0)],
  notes: [],
});
