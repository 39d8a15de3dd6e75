// The help pages: of the program, and of one command.
import { columns } from '../report/columns.js';
import type { CommandRow, HelpTable } from './command.js';

const helpOption: Pair = ['-h, --help', 'show this help'];
type Pair = readonly [term: string, meaning: string];

/** Words into lines no longer than `width`, where the words allow that. */
function wrapped(text: string, width: number): string[] {
  const lines: string[] = [];
  for (const word of text.split(' ')) {
    const last = lines.at(-1);
    if (last !== undefined && last.length + 1 + word.length <= width) lines[lines.length - 1] = `${last} ${word}`;
    else lines.push(word);
  }
  return lines;
}

/** Narrower than that nobody reads it. */
const leastMeaning = 40;

function list(heading: string, pairs: readonly Pair[], pageWidth: number, termWidth: number): string {
  const indent = termWidth + 4;
  const width = pageWidth - indent;
  const entries = pairs.map(([term, meaning]) => {
    const lines = width < leastMeaning ? [meaning] : wrapped(meaning, width);
    return `  ${term.padEnd(termWidth)}  ${lines.join(`\n${' '.repeat(indent)}`)}\n`;
  });
  return `\n${heading}:\n${entries.join('')}`;
}

const widest = (pairs: readonly Pair[]): number => Math.max(...pairs.map(([term]) => term.length));

export function programHelp(commands: readonly CommandRow[], width: number): string {
  const about = 'Describe, build, burn, read back and diagnose the lookup ROMs of bench-built digital logic.';
  const options: Pair[] = [['-V, --version', 'output the version number'], helpOption];
  const named = commands.map(({ name, summary }): Pair => [name, summary]);
  const termWidth = widest([...options, ...named]);
  return `Usage: romkiln <command> [options]

${wrapped(about, width).join('\n')}
${list('Options', options, width, termWidth)}${list('Commands', named, width, termWidth)}
Exit: 0 done or the same, 1 differences found, 2 cannot be done as asked, 3 no conversation with the
writer, 4 the writer or the chip refused, 70 a fault of ours, 130 interrupted.
"romkiln <command> --help" says more about one command.
`;
}

export function commandHelp(row: CommandRow, table: HelpTable | undefined, width: number): string {
  const options = [...row.options.map(({ flags, help }): Pair => [flags, help]), helpOption];
  const about = `${row.summary[0]!.toUpperCase()}${row.summary.slice(1)}.`;
  const examples = row.examples ? `\nExamples:\n${row.examples.map((e) => `  ${e}\n`).join('')}` : '';
  return `Usage: ${['romkiln', row.name, ...row.operands, '[options]'].join(' ')}

${wrapped(about, width).join('\n')}
${list('Options', options, width, widest(options))}${examples}${table ? `\n${columns(table.heading, table.rows)}` : ''}`;
}
