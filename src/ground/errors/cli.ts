// Errors of the room cli: code, exit, sentence, note.
import { exit } from '../exit.js';
import { row } from './row.js';

export const cliErrors = {
  'cli.unknown-command': row<{ name: string; near: readonly string[] }>(
    exit.usage,
    (f) => `There is no command "${f.name}".`,
    (f) => (f.near.length > 0 ? `Did you mean ${f.near.join(' or ')}?` : '"romkiln --help" lists the commands.'),
  ),
  'cli.unknown-option': row<{ command: string; option: string; near: readonly string[] }>(
    exit.usage,
    (f) => `"${f.command}" has no option ${f.option}.`,
    (f) =>
      f.near.length > 0 ? `Did you mean ${f.near.join(' or ')}?` : `"romkiln ${f.command} --help" lists its options.`,
  ),
  'cli.surplus-argument': row<{ command: string; argument: string; usage: string }>(
    exit.usage,
    (f) => `"${f.command}" takes no argument "${f.argument}".`,
    (f) => `Usage: ${f.usage}`,
  ),
  'cli.option-twice': row<{ command: string; option: string; values: readonly string[] }>(
    exit.usage,
    (f) =>
      `${f.option} is given ${f.values.length === 2 ? 'twice' : `${f.values.length} times`}: ${f.values.join(', ')}.`,
    (f) => `"${f.command}" takes it once; leave the other${f.values.length === 2 ? '' : 's'} out.`,
  ),
  'cli.missing-value': row<{ option: string; flags: string }>(
    exit.usage,
    (f) => `${f.option} needs a value.`,
    (f) => `Usage: ${f.flags}`,
  ),
  'cli.empty-value': row<{ option: string; flags: string }>(
    exit.usage,
    (f) => `The value of ${f.option} is empty.`,
    (f) => `Write ${f.flags}. In a script, check that the variable is set.`,
  ),
  'cli.value-too-long': row<{ option: string; length: number; longest: number }>(
    exit.usage,
    (f) => `The value of ${f.option} has ${f.length} characters.`,
    (f) => `Give it at most ${f.longest}.`,
  ),
  'cli.idle-word': row<{ use: string; word: string; right: string }>(
    exit.usage,
    (f) => `"${f.use}" does not use ${f.word}.`,
    (f) => f.right,
  ),
  'cli.missing-argument': row<{ command: string; argument: string; usage: string }>(
    exit.usage,
    (f) => `"${f.command}" needs <${f.argument}>.`,
    (f) => `Usage: ${f.usage}`,
  ),
  'cli.missing-option': row<{ command: string; option: string; why: string }>(
    exit.usage,
    (f) => `"${f.command}" needs ${f.option}: ${f.why}`,
    (f) => `Add ${f.option}.`,
  ),
  'cli.bad-value': row<{ option: string; value: string; wanted: string }>(
    exit.usage,
    (f) => `"${f.value}" is not a value for ${f.option}.`,
    (f) => `Expected: ${f.wanted}.`,
  ),
  'cli.which-port': row<{ ports: readonly string[] }>(
    exit.usage,
    (f) => `There are ${f.ports.length} serial ports: ${f.ports.join(', ')}.`,
    () => 'Say which one with --port, or set ROMKILN_PORT.',
  ),
  'cli.no-loader-there': row<{ port: string }>(
    exit.usage,
    (f) => `${f.port} is the emulated bench: it has no boot loader, and runs the firmware of this tool already.`,
    () => '--port names the serial port of a board; `romkiln ports` lists them.',
  ),
  'cli.no-bench-file': row<{ port: string }>(
    exit.usage,
    (f) => `The port "${f.port}" names no bench file.`,
    () =>
      'Write emulated:<bench file> ("romkiln emulate new <bench file>" makes one), or just emulated for the bench in your data folder.',
  ),
  'cli.port-twice': row<{ ports: readonly string[] }>(
    exit.usage,
    (f) => `A port is named twice: ${f.ports.join(', ')}.`,
    () => 'Each writer needs its own port.',
  ),
  'cli.hold-beyond': row<{ address: string; registers: number; largest: string }>(
    exit.usage,
    (f) =>
      `${f.address} is beyond the address lines of this writer: with ${f.registers} register${f.registers === 1 ? '' : 's'} of 8 lines it holds addresses up to ${f.largest}. Nothing was held.`,
    (f) => `Name an address up to ${f.largest}, or fit another register at the end of the chain (firmware/README.md).`,
  ),
  'cli.ports-and-roms': row<{ ports: number; roms: number }>(
    exit.usage,
    (f) => `There are ${f.roms} ROMs to burn, but ${f.ports} ports.`,
    () =>
      'Give one port for each ROM, in the order of the plan, or choose one ROM with --rom to burn it on every port.',
  ),
  'cli.one-label': row<{ label: string; chips: number }>(
    exit.usage,
    (f) => `"${f.label}" labels one chip, but ${f.chips} are to be burned.`,
    () => 'Burn them one at a time, each with its own --label (--rom chooses a ROM of a plan), or leave out --label.',
  ),
  'cli.no-port': row<Record<string, never>>(
    exit.noConversation,
    () => 'No serial port was found.',
    () => 'Plug the writer in, name its port with --port, or use --port emulated for the emulated bench.',
  ),
  'cli.file-missing': row<{ path: string }>(
    exit.usage,
    (f) => `There is no file ${f.path}.`,
    () => 'Check the name and the folder.',
  ),
  'cli.file-unreadable': row<{ path: string; reason: string }>(
    exit.usage,
    (f) => `${f.path} cannot be read: ${f.reason}.`,
    () => 'Check that it is a file and that you may read it.',
  ),
  'cli.file-too-large': row<{ path: string; mostBytes: number }>(
    exit.usage,
    (f) => `${f.path} holds more than ${f.mostBytes / 1e6} MB, or has no end.`,
    () => 'No image, plan or record is that large. Check the name.',
  ),
  'cli.file-unwritable': row<{ path: string; reason: string }>(
    exit.usage,
    (f) => `${f.path} cannot be written: ${f.reason}. Nothing was changed there.`,
    () => 'Choose a place where you may write and that has room.',
  ),
  'cli.data-folder': row<{ path: string; verb: 'read' | 'written'; reason: string }>(
    exit.usage,
    (f) => `${f.path} cannot be ${f.verb}: ${f.reason}.`,
    () =>
      'The keep and the book are stored there. XDG_DATA_HOME (Linux), HOME (macOS) or LOCALAPPDATA (Windows) chooses another folder.',
  ),
  'cli.file-in-the-way': row<{ path: string }>(
    exit.usage,
    (f) => `${f.path} is there already, and would be lost. Nothing was written.`,
    () => 'Remove the file first, or choose another name.',
  ),
  'cli.output-in-the-way': row<{ path: string }>(
    exit.usage,
    (f) => `${f.path} is there already, and this command did not make it. Nothing was written.`,
    () => 'Add --overwrite to replace it, or choose another name.',
  ),
  'cli.output-dear': row<{ path: string; why: string }>(
    exit.usage,
    (f) => `${f.path} is not written over: ${f.why}. Nothing was written.`,
    () => 'Choose another name.',
  ),
  'cli.output-lost': row<{ reason: string }>(
    exit.usage,
    (f) => `Standard output cannot be written: ${f.reason}. What this command had to say is lost in part.`,
    () => 'The command itself went on to its end; "romkiln book" tells what it did to a chip.',
  ),
  'cli.no-answer': row<{ question: string }>(
    exit.usage,
    (f) => `${f.question} cannot be answered: standard input has ended.`,
    () =>
      'A set on one writer needs somebody who changes chips and presses Enter: run it on a terminal, name a --port for each ROM, or burn one ROM at a time with --rom.',
  ),
  'cli.interrupted': row<{ doing: string }>(
    exit.interrupted,
    (f) => `Interrupted while ${f.doing}.`,
    () => 'Nothing was written.',
  ),
  'cli.stopped-before': row<{ option: string; done: readonly string[] }>(
    exit.interrupted,
    (f) => `Stopped before ${f.option}; ${f.done.join(' and ') || 'nothing'} was done.`,
    () => 'Answer yes to go on, or give --yes.',
  ),
  'cli.plan-module': row<{ path: string; place: string; message: string }>(
    exit.usage,
    (f) => `${f.place}: this module gives no plan: ${f.message}.`,
    () => 'A plan module exports a plan as its default, and gives it within 30 s (images/README.md).',
  ),
  'cli.neighbour-failed': row<{ program: string; said: string }>(
    exit.usage,
    (f) => `${f.program} failed: ${f.said}.`,
    () => 'The pseudo terminal is made beside the bench file; that folder must be writable.',
  ),
  'cli.no-socat': row<Record<string, never>>(
    exit.usage,
    () => 'Serving the bench on a port of its own needs the program socat, which is not installed.',
    () => 'Install it (Debian: apt install socat), or use --port emulated:<bench file> directly, which needs nothing.',
  ),
};
