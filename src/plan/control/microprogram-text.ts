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

export interface Label extends TextPlace {
  readonly name: string;
}

/** `origin` moves to another address; `row` is one word; `wrong` cannot be read, and says why. */
export type Statement =
  | (TextPlace & { readonly kind: 'origin'; readonly address: string })
  | (TextPlace & { readonly kind: 'row'; readonly labels: readonly Label[]; readonly settings: readonly Setting[] })
  | (TextPlace & { readonly kind: 'wrong'; readonly says: string });

const labelAhead = /^\s*([A-Za-z][\w.-]*):(?:\s+|$)/;

/**
 * `label: field=code line next=label` on each line; `origin 64` moves on; `#` begins a comment. A label on a line of its
 * own belongs to the next row.
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
    const settings = words.map(settingOf);
    const wrong = settings.find((s) => s.name === '' || s.value === '');
    if (wrong !== undefined) {
      const says = 'a row is made of names of lines and of field=code, without spaces around the equals sign';
      statements.push({ kind: 'wrong', line, column: wrong.column, says });
    } else {
      statements.push({ kind: 'row', line, column: first.column, labels, settings });
      labels = [];
    }
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
