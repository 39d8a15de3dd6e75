// What makes a text not worth parsing as a plan: looked at before the YAML library sees it.
import { Lexer } from 'yaml';
import { hex } from '../ground/byte-text.js';

/** Why a text is not read; `at` counts characters from its beginning. */
export interface Refusal {
  readonly at: number;
  readonly message: string;
  readonly why: string;
}

// The YAML library takes time that grows with text, errors and depth, and fails badly at deep nesting (measured: a line of
// 1000 dashes ends the process). These bounds keep any text at about a second (measured over twenty shapes of hostile text)
// and are far above any plan for people.
const bounds = { characters: 512 * 1024, lexemes: 240_000, depth: 64, indent: 200 };

const madeByProgram = (most: string): string =>
  `A plan has at most ${most}; a table this large is better written as a module with a function.`;

/** A row of a truth table has about 40. */
const mostMarks = `${bounds.lexemes} words, signs and spaces, which is about 5000 rows of a table`;

export function refusalOf(text: string): Refusal | null {
  if (text.length > bounds.characters) {
    return {
      at: 0,
      message: `The plan is ${text.length} characters long.`,
      why: madeByProgram(`${bounds.characters} characters`),
    };
  }
  const control = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f\ufffd]/.exec(text);
  if (control) return { at: control.index, ...controlRefusal(control[0]) };
  const deep = flowTooDeep(text) ?? blocksTooDeep(text);
  if (deep !== null) {
    return { at: deep, message: 'The text is nested too deeply.', why: `A plan nests at most ${bounds.depth} deep.` };
  }
  return tooManyLexemes(text);
}

export const controlRefusal = (character: string): Omit<Refusal, 'at'> => ({
  message: `There is a character U+${hex(character.charCodeAt(0), 4)}.`,
  why: 'A plan is UTF-8 text without control characters.',
});

/** Where more brackets are open than a plan has levels; brackets inside texts count too, which harms no real plan. */
function flowTooDeep(text: string): number | null {
  let depth = 0;
  for (let i = 0; i < text.length; i++) {
    const c = text[i];
    if (c === '[' || c === '{') depth++;
    else if ((c === ']' || c === '}') && depth > 0) depth--;
    if (depth > bounds.depth) return i;
  }
  return null;
}

/** Where a line begins with more indentation, or more of the indicators - ? : in a row, than a plan has levels. */
function blocksTooDeep(text: string): number | null {
  for (const { 0: start, index } of text.matchAll(/^[ \t?:-]+/gm)) {
    if (start.length > bounds.indent || start.replace(/[^?:-]/g, '').length > bounds.depth) return index;
  }
  return null;
}

function tooManyLexemes(text: string): Refusal | null {
  // A lexeme is a character or more, but for a few marks a line: short texts need no counting.
  if (text.length < bounds.lexemes / 2) return null;
  let lexemes = 0;
  let at = 0;
  for (const lexeme of new Lexer().lex(text)) {
    at += lexeme.length;
    if (++lexemes <= bounds.lexemes) continue;
    return { at: Math.min(at, text.length), message: 'The plan goes on for too long.', why: madeByProgram(mostMarks) };
  }
  return null;
}
