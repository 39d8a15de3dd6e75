// One row of the error table, and the positions that many rows name.

/** How one error is said. `Facts` types what the thrower must hand in. */
export interface ErrorRow<Facts> {
  /** The number the process ends with, from the table in exit.ts. */
  readonly exit: number;
  /** One sentence with the facts. */
  says(facts: Facts): string;
  /** One line saying what would have been right. */
  note(facts: Facts): string;
}

/** Makes a row; exists so that the facts' type is written once, at the row. */
export const row = <Facts>(exit: number, says: (f: Facts) => string, note: (f: Facts) => string): ErrorRow<Facts> => ({
  exit,
  says,
  note,
});

/** A place in a file; line and column count from 1. */
export interface Place {
  readonly file: string;
  readonly line: number;
  readonly column: number;
}

/** `file:line:column`, the form that editors and terminals turn into a link. */
export const at = (p: Place): string => `${p.file}:${p.line}:${p.column}`;
