// Every command of the tool: its name, operands, options and help, in the order of the help page.
import type { CommandRow, OptionRow } from './command.js';
import {
  anyOf,
  besideQuestions,
  besideSchema,
  besideSettling,
  formatOfNoFile,
  ofAction,
  ofRigStages,
  ofScratchChip,
  romOfWords,
} from './idle-words.js';

const output: readonly OptionRow[] = [
  { flags: '--json', help: 'one JSON object on standard output, nothing else' },
  { flags: '--quiet', help: 'no progress, only results and errors' },
  { flags: '--no-color', help: 'no colours (NO_COLOR does the same)' },
];
/** Alone where the rate is not free: at the greeting's rate, or at every rate there is. */
const portAlone: OptionRow = {
  flags: '--port <path>',
  help: 'serial port of the writer, or emulated:<bench file>, or emulated (ROMKILN_PORT)',
};
const port: readonly OptionRow[] = [
  portAlone,
  { flags: '--rate <baud>', help: 'fix the rate of the link instead of trying the fast ones' },
];
const chip: readonly OptionRow[] = [
  { flags: '--chip <part>', help: 'the part in the socket, or its family (ROMKILN_CHIP)' },
];
const writer: readonly OptionRow[] = [
  ...chip,
  ...port,
  { flags: '--registers <n>', help: 'address registers fitted, where the writer has no chain return to count them' },
];
const range: OptionRow = { flags: '--range <range>', help: 'only these addresses, inclusive: 0x100..0x1FF' };
const rom: OptionRow = { flags: '--rom <name>', help: 'one ROM of a plan that describes several' };
const format: OptionRow = {
  flags: '--format <format>',
  help: 'bin, hex (Intel), srec (Motorola) or memh (Verilog memory text); else by the file name, else bin',
};
const overwrite: OptionRow = {
  flags: '--overwrite',
  help: "replace a file that is there and is not of this command's own making",
};
const label: OptionRow = {
  flags: '--label <name>',
  help: 'what this chip is called on your bench, such as U7, for the book',
  longest: 64,
};

/** Rows in the order in which a builder meets them. */
export const commandTable: readonly CommandRow[] = [
  {
    name: 'check',
    summary: 'find what is wrong with a plan before anything is burned',
    operands: ['<plan>'],
    options: [{ flags: '--strict', help: 'warnings count as faults' }, ...output],
    load: () => import('./check.js'),
  },
  {
    name: 'build',
    summary: 'make the images of a plan',
    // Left out with --schema alone.
    operands: ['[plan]'],
    options: [
      { flags: '-o, --output <folder>', help: 'where the images and the manifest go; else beside the plan' },
      format,
      overwrite,
      {
        flags: '--schema',
        help: 'print the JSON Schema of plan files for an editor, and do nothing else; needs no plan',
      },
      ...output,
    ],
    idle: besideSchema,
    load: () => import('./build.js'),
  },
  {
    name: 'list',
    summary: "print a plan's table in the builder's words",
    operands: ['<plan>'],
    options: [rom, ...output],
    load: () => import('./list.js'),
  },
  {
    name: 'look',
    summary: 'explain one address, or the address of some field values, both ways',
    operands: ['<plan>', '<address|field=value...>'],
    options: [rom, ...output],
    examples: [
      'romkiln look images/skerry-thermometer.yaml 0x25',
      'romkiln look images/skerry-thermometer.yaml register=-50 degrees=celsius',
    ],
    load: () => import('./look.js'),
  },
  {
    name: 'burn',
    summary: 'write an image (or a plan) into a chip, then read everything back and compare',
    operands: ['<image|plan>'],
    options: [
      range,
      rom,
      { flags: '--dry-run', help: 'only say what would be written and how long it would take' },
      { flags: '--protected', help: 'send the protection prefix before every page; the chip stays protected' },
      { flags: '--discard', help: 'do not keep what is overwritten' },
      label,
      ...writer.map((o) =>
        o.flags.startsWith('--port') ? { ...o, help: `${o.help}; several burn at once`, many: true } : o,
      ),
      ...output,
    ],
    idle: romOfWords,
    examples: [
      'romkiln burn clock.hex --chip 28C256 --port /dev/ttyUSB0',
      'romkiln burn images/skerry-thermometer.yaml --port emulated',
    ],
    load: () => import('./burn.js'),
  },
  {
    name: 'verify',
    summary: 'read a chip back and compare it with an image (or a plan)',
    operands: ['<image|plan>'],
    options: [range, rom, label, ...writer, ...output],
    idle: romOfWords,
    load: () => import('./verify.js'),
  },
  {
    name: 'dump',
    summary: 'read a chip into a file',
    operands: ['[plan]'],
    options: [
      { flags: '-o, --output <file>', help: 'where the bytes go' },
      format,
      overwrite,
      range,
      rom,
      { flags: '--passes <n>', help: 'read so many times and name the cells that are unsteady' },
      label,
      ...writer,
      ...output,
    ],
    idle: romOfWords,
    load: () => import('./dump.js'),
  },
  {
    name: 'compare',
    summary: 'compare two images; the first is the wanted one',
    operands: ['<wanted>', '<actual>'],
    options: [range, rom, ...output],
    idle: romOfWords,
    load: () => import('./compare.js'),
  },
  {
    name: 'blank',
    summary: 'blank check: does every cell read FF, from a chip that is really there',
    operands: [],
    options: [range, ...writer, ...output],
    load: () => import('./blank.js'),
  },
  {
    name: 'erase',
    summary: 'write FF wherever it is not FF',
    operands: [],
    options: [range, { flags: '--discard', help: 'do not keep what is overwritten' }, label, ...writer, ...output],
    load: () => import('./erase.js'),
  },
  {
    name: 'protect',
    summary: "switch the chip's software data protection on",
    operands: [],
    options: [label, ...writer, ...output],
    load: () => import('./protect.js'),
  },
  {
    name: 'unprotect',
    summary: "switch the chip's software data protection off",
    operands: [],
    options: [label, ...writer, ...output],
    load: () => import('./protect.js'),
  },
  {
    name: 'suspects',
    summary: 'from a wrong readback, or a wrong digit on the bench, to the wire or chip that causes it',
    operands: ['<image|plan>', '[readback...]'],
    options: [
      { flags: '--bench', help: 'ask what the display or the lamps show, question by question' },
      { flags: '--seen <file>', help: 'observations from a file, one "level=37 mode=signed: -12" a line' },
      { flags: '--next', help: 'print only the next question' },
      { flags: '--before <file>', help: 'what the chip held before it was burned, where you know' },
      rom,
      ...chip,
      ...output,
    ],
    idle: besideQuestions,
    examples: [
      'romkiln suspects images/skerry-thermometer.yaml readback.bin',
      'romkiln suspects images/skerry-thermometer.yaml one.bin two.bin   (two readings of one chip: what is unsteady shows)',
      'romkiln suspects images/skerry-thermometer.yaml --bench',
    ],
    load: () => import('./suspects.js'),
  },
  {
    name: 'keep',
    summary: 'what was in chips before it was overwritten: list, or show one',
    operands: ['<list|show>', '[id]'],
    options: [
      { flags: '-o, --output <file>', help: 'with show: the kept bytes into a file' },
      format,
      overwrite,
      ...output,
    ],
    idle: anyOf(
      ofAction({
        list: { usage: 'list', words: 1, options: [] },
        show: {
          usage: 'show <id> [-o <file>] [--format <format>]',
          words: 2,
          options: ['output', 'format', 'overwrite'],
        },
      }),
      formatOfNoFile,
    ),
    load: () => import('./keep.js'),
  },
  {
    name: 'restore',
    summary: 'burn what the keep holds under an id back into a chip',
    operands: ['<id>'],
    options: [{ flags: '--discard', help: 'do not keep what is overwritten' }, label, ...writer, ...output],
    load: () => import('./restore.js'),
  },
  {
    name: 'book',
    summary: 'every job with a chip so far; with --label what one chip should hold and its wear',
    operands: [],
    options: [
      label,
      { flags: '--settle <id>', help: 'end the note of a job that was cut off: you know what its chip holds' },
      ...output,
    ],
    idle: besideSettling,
    load: () => import('./book.js'),
  },
  {
    name: 'writer',
    summary: 'say who the writer is: firmware, limits, address registers',
    operands: [],
    options: [...port, ...output],
    load: () => import('./writer.js'),
  },
  {
    name: 'install',
    summary: 'put the firmware into a board, through its serial boot loader',
    operands: [],
    options: [
      portAlone,
      { flags: '--dry-run', help: 'only say what board answers, and what its flash holds' },
      ...output,
    ],
    examples: ['romkiln install --port /dev/ttyUSB0'],
    load: () => import('./install.js'),
  },
  {
    name: 'ports',
    summary: 'list the serial ports',
    operands: [],
    options: output,
    load: () => import('./ports.js'),
  },
  {
    name: 'chips',
    summary: 'list the parts the tool knows, or one part with the source of every figure',
    operands: ['[part]'],
    options: output,
    load: () => import('./chips.js'),
  },
  {
    name: 'rig',
    summary: "test the writer's own wiring, which no verify can see",
    operands: [],
    options: [
      { flags: '--empty', help: 'with nothing in the socket: registers counted, data lines driven, pulled and read' },
      {
        flags: '--scratch',
        help: 'with a chip whose cells may be written: bus tests; its cells are kept and put back',
      },
      {
        flags: '--reference <image|plan>',
        help: 'with a chip that is known to hold this: every line, any permutation',
      },
      { flags: '--yes', help: 'do not ask what is in the socket' },
      { ...label, help: `with --scratch: ${label.help}` },
      rom,
      ...writer,
      ...output,
    ],
    idle: ofRigStages,
    load: () => import('./rig.js'),
  },
  {
    name: 'hold',
    summary: 'hold an address and the control lines still, to be followed with a meter',
    operands: ['<address>'],
    options: [
      { flags: '--ce <level>', help: 'level of /CE: high (default) or low' },
      { flags: '--oe <level>', help: 'level of /OE: high (default) or low' },
      { flags: '--we <level>', help: 'level of /WE: high (default) or low; low only while /CE is high' },
      { flags: '--data <byte>', help: 'drive this byte, or "pulled" for the pull-ups; else released' },
      portAlone,
      ...output,
    ],
    load: () => import('./hold.js'),
  },
  {
    name: 'conform',
    summary: 'hold a writer to firmware-protocol.md, rule by rule',
    operands: [],
    options: [
      { flags: '--scratch', help: 'the chip in the socket may be written; its cells are kept and put back' },
      { flags: '--discard', help: 'with --scratch: do not keep what the chip holds' },
      { ...label, help: `with --scratch: ${label.help}` },
      ...chip,
      portAlone,
      ...output,
    ],
    idle: ofScratchChip,
    load: () => import('./conform.js'),
  },
  {
    name: 'emulate',
    summary: 'the emulated bench: new, show, fault, serve',
    operands: ['<new|show|fault|serve>', '<bench file>', '[fault...]'],
    options: [
      ...chip,
      { flags: '--fill <byte|random>', help: 'what a new chip holds: a byte, or random with the seed (default FF)' },
      {
        flags: '--cycle <time>',
        help: 'true write cycle of the chip, such as 5ms or 200us (default: the longest of its row)',
      },
      {
        flags: '--fault <fault>',
        help: 'a fault to begin with, such as "A4 open"; may be given several times',
        many: true,
      },
      { flags: '--seed <n>', help: 'seed of all that is random on this bench (default 1)' },
      { flags: '--delay <time>', help: 'how late answers reach the host, such as 16ms (default 0)' },
      { flags: '--registers <n>', help: 'address registers fitted: 2 or 3 (default: what the chip needs)' },
      ...output,
    ],
    idle: ofAction({
      new: {
        usage: 'new <bench file> --chip <part> [options]',
        words: 2,
        options: ['chip', 'fill', 'cycle', 'fault', 'seed', 'delay', 'registers'],
      },
      show: { usage: 'show <bench file>', words: 2, options: [] },
      fault: { usage: 'fault <bench file> <fault...>', words: null, options: ['fault'] },
      serve: { usage: 'serve <bench file>', words: 2, options: [] },
    }),
    examples: [
      'romkiln emulate new bench.json --chip 28C256 --cycle 5ms',
      'romkiln emulate fault bench.json "D3 open"',
      'romkiln emulate fault bench.json none',
      'romkiln emulate serve bench.json',
    ],
    loadTable: async () => (await import('./emulate.js')).faultTable,
    load: () => import('./emulate.js'),
  },
];
