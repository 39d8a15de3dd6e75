// Which line of a text that is no YAML is indented wrongly: the library says where it noticed, which is often elsewhere.
import { countOf } from '../ground/quantity.js';
import type { Refusal } from './hostile-text.js';

/** A text of lines (`|` or `>`) that is being passed over. */
interface TextBlock {
  /** Indentation of the line that opens it. */
  readonly under: number;
  /** Indentation of its first line, which the others must have too; null before that. */
  readonly first: number | null;
}

/** What carries on from one line to the next. */
interface Standing {
  /** Columns at which the open blocks begin, the outermost first. */
  readonly columns: readonly number[];
  /** The line before ended with a key that has no value yet, so that more indentation is right. */
  readonly opens: boolean;
  readonly block: TextBlock | null;
  /** Brackets and quotes that are open: there indentation is free. */
  readonly open: string;
}

/** The first line that is indented as no line around it, or by a tab; null where none is. */
export function wrongIndentation(text: string): Refusal | null {
  let standing: Standing = { columns: [0], opens: true, block: null, open: '' };
  let at = 0;
  for (const line of text.split('\n')) {
    const next = isNothing(line, standing) ? standing : follow(line, standing);
    if ('message' in next) return { ...next, at: at + next.at };
    standing = next;
    at += line.length + 1;
  }
  return null;
}

const isNothing = (line: string, { block }: Standing): boolean =>
  (block ? /^\s*$/ : /^\s*(?:#.*)?$|^(?:---|%)/).test(line);

const mistake = (at: number, message: string, why: string): Refusal => ({ at, message, why });

function follow(line: string, standing: Standing): Standing | Refusal {
  const [lead = ''] = /^[ \t]*/.exec(line) ?? [];
  const { block, open } = standing;
  if (block) {
    const inside = insideBlock(lead.length, block);
    if (inside !== null) return 'message' in inside ? inside : { ...standing, block: inside };
  }
  if (open !== '') return { ...standing, open: stillOpen(line, open), opens: false };
  const tab = lead.indexOf('\t');
  if (tab >= 0) return mistake(tab, 'A tab stands in the indentation.', 'Indent with spaces alone.');
  const columns = columnsFor(lead.length, line, standing);
  if ('message' in columns) return columns;
  return opened(line, lead.length, columns);
}

/** The block as it goes on with this line; null where the line stands behind it. */
function insideBlock(indent: number, { under, first }: TextBlock): TextBlock | Refusal | null {
  if (indent <= under) return null;
  if (first !== null && indent < first) {
    const message = `This line is indented by ${countOf(indent, 'space')}, and the first line of its block by ${first}.`;
    return mistake(
      indent,
      message,
      'The first line of a block sets its indentation: indent that line less, or all others as much.',
    );
  }
  return { under, first: first ?? indent };
}

function columnsFor(indent: number, line: string, { columns, opens }: Standing): readonly number[] | Refusal {
  const innermost = columns.at(-1)!;
  if (indent > innermost) {
    // A text may go on indented; a key or an item may not.
    if (opens || !/^\s*(?:- |-$|[^\s#'"[{][^#]*:(?:\s|$))/.test(line)) return opens ? [...columns, indent] : columns;
  } else if (columns.includes(indent)) return columns.filter((column) => column <= indent);
  const others = [columns.findLast((c) => c < indent), columns.find((c) => c > indent)].filter((c) => c !== undefined);
  const message = `This line is indented by ${countOf(indent, 'space')}, and the lines around it by ${others.join(' or ')}.`;
  return mistake(
    indent,
    message,
    'Lines of one block begin in the same column; only what stands under a key is indented more.',
  );
}

/** What a line leaves open for the next. */
function opened(line: string, indent: number, columns: readonly number[]): Standing {
  let column = indent;
  const within = [...columns];
  let rest = line.slice(indent);
  for (let item = /^-(?: +|$)/.exec(rest); item; item = /^-(?: +|$)/.exec(rest)) {
    column += item[0].length;
    rest = rest.slice(item[0].length);
    if (rest !== '') within.push(column);
  }
  const open = stillOpen(rest, '');
  const bare = rest.replace(/\s+#.*$/, '').trimEnd();
  const isBlock = open === '' && /(?:^|\s)[|>][-+\d]{0,2}$/.test(bare);
  const opens = open === '' && (bare === '' || /:(?:\s+[&!]\S+)*$/.test(bare));
  return { columns: within, opens, block: isBlock ? { under: within.at(-1)!, first: null } : null, open };
}

const closing: Readonly<Record<string, string>> = { '[': ']', '{': '}' };

/** The closing marks that are still missing at the end of a line, innermost last; quotes count as marks. */
function stillOpen(line: string, before: string): string {
  let open = before;
  let previous = ' ';
  for (const c of line) {
    const inner = open.at(-1);
    if (inner === '"' || inner === "'")
      open = c === inner && !(inner === '"' && previous === '\\') ? open.slice(0, -1) : open;
    else if (c === '#' && /\s/.test(previous)) break;
    else if ((c === '"' || c === "'") && /[\s[{,:]/.test(previous)) open += c;
    else if (c in closing && (open !== '' || /\s/.test(previous))) open += closing[c]!;
    else if (c === inner) open = open.slice(0, -1);
    previous = c;
  }
  return open;
}
