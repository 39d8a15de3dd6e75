// The text of a microprogram, one row a line, taken apart: labels, origins, settings. Knows no fields.

/** A place in the text, line and column from 0. */
export interface TextPlace {
  readonly line: number;
  readonly column: number;
}

export interface Setting extends TextPlace {
  readonly name: string;
  /** Null where the name stands alone: a line that is asserted. */
  readonly value: string | null;
}

/** What a row does under a condition; without conditions always. */
export interface CaseText extends TextPlace {
  readonly conditions: readonly Setting[];
  readonly settings: readonly Setting[];
}

export interface Label extends TextPlace {
  readonly name: string;
}

/** `origin` moves to another address; `row` is one word; `wrong` cannot be read, and says why. */
export type Statement =
  | (TextPlace & { readonly kind: 'origin'; readonly address: string })
  | (TextPlace & { readonly kind: 'row'; readonly labels: readonly Label[]; readonly cases: readonly CaseText[] })
  | (TextPlace & { readonly kind: 'wrong'; readonly says: string });

const labelAhead = /^\s*([A-Za-z][\w.-]*):(?:\s+|$)/;

/**
 * `label: field=code line next=label` on each line; `origin 64` moves on; `#` begins a comment. A label on a line of its
 * own belongs to the next row. `when input=value do ...` begins a row that asks for inputs; `or when ... do ...` and `else ...`
 * on the next lines belong to it.
 */
export function readMicroprogram(text: string): readonly Statement[] {
  const statements: Statement[] = [];
  let labels: Label[] = [];
  for (const [line, whole] of text.split(/\r?\n/).entries()) {
    let rest = whole.replace(/(^|\s)#.*/, '');
    let column = 0;
    for (let found = labelAhead.exec(rest); found !== null; found = labelAhead.exec(rest)) {
      labels.push({ name: found[1]!, line, column: column + found[0].indexOf(found[1]!) });
      column += found[0].length;
      rest = rest.slice(found[0].length);
    }
    const words = [...rest.matchAll(/[^\s,]+/g)].map((m) => ({ text: m[0], line, column: column + m.index }));
    const [first] = words;
    if (first === undefined) continue;
    if (first.text === 'origin') {
      statements.push(originOf(first, words));
      continue;
    }
    const read = caseOf(words);
    const last = statements.at(-1);
    if ('says' in read) statements.push({ kind: 'wrong', line, ...read });
    else if (!read.goesOn) {
      statements.push({ kind: 'row', line, column: first.column, labels, cases: [read.case] });
      labels = [];
    } else if (last?.kind !== 'row' || last.cases.at(-1)!.conditions.length === 0 || labels.length > 0) {
      const says = `"${first.text}" goes on with a row that begins with "when", and there is none before it`;
      statements.push({ kind: 'wrong', line, column: first.column, says });
    } else statements[statements.length - 1] = { ...last, cases: [...last.cases, read.case] };
  }
  for (const label of labels) {
    const says = `the label "${label.name}" has no row after it`;
    statements.push({ kind: 'wrong', line: label.line, column: label.column, says });
  }
  return statements;
}

interface Piece extends TextPlace {
  readonly text: string;
}

type ReadCase =
  | { readonly goesOn: boolean; readonly case: CaseText }
  | { readonly says: string; readonly column: number };

/** One line of a row: its settings, or `when`, `or when` and `else` before them. */
function caseOf(words: readonly Piece[]): ReadCase {
  const [first, second] = words;
  const { line, column } = first!;
  const goesOn = first!.text === 'else' || (first!.text === 'or' && second?.text === 'when');
  const asks = first!.text === 'when' || (goesOn && first!.text === 'or');
  const end = asks ? words.findIndex(({ text }) => text === 'do') : -1;
  const begin = goesOn && asks ? 2 : 1;
  if (asks && end <= begin) {
    return { column, says: 'a condition is written "when input=value do", with what is done behind it' };
  }
  const conditions = asks ? words.slice(begin, end).map(settingOf) : [];
  const settings = words.slice(asks ? end + 1 : goesOn ? 1 : 0).map(settingOf);
  const wrong = [...conditions, ...settings].find((s) => s.name === '' || s.value === '');
  if (wrong !== undefined) {
    const says = 'a row is made of names of lines and of field=code, without spaces around the equals sign';
    return { column: wrong.column, says };
  }
  return { goesOn, case: { line, column, conditions, settings } };
}

const settingOf = ({ text, line, column }: Piece): Setting => {
  const equals = text.indexOf('=');
  return equals < 0
    ? { name: text, value: null, line, column }
    : { name: text.slice(0, equals), value: text.slice(equals + 1), line, column };
};

function originOf(first: Piece, words: readonly Piece[]): Statement {
  const place = { line: first.line, column: first.column };
  return words.length === 2
    ? { kind: 'origin', ...place, column: words[1]!.column, address: words[1]!.text }
    : { kind: 'wrong', ...place, says: '"origin" takes one address, on a line of its own, as in origin 64' };
}
