// A second model of what plans build, written from images/README.md alone: it shares no code with the plan room. Each maker
// draws a random plan from a seed, writes it as YAML, and works its bytes out in its own way.
export interface Judged {
  readonly yaml: string;
  /** Files that stand beside the plan. */
  readonly files: Readonly<Record<string, Uint8Array>>;
  /** The bytes of every ROM by name; null for a cell that nothing defines. */
  readonly roms: Readonly<Record<string, readonly (number | null)[]>>;
}

/** Marsaglia's xorshift with 32 bits. */
class Dice {
  constructor(private state: number) {
    this.state = (state * 2654435761) >>> 0 || 1;
  }

  below(limit: number): number {
    this.state ^= this.state << 13;
    this.state ^= this.state >>> 17;
    this.state ^= this.state << 5;
    return (this.state >>> 0) % limit;
  }

  yes = (): boolean => this.below(2) === 1;

  pick = <T>(list: readonly T[]): T => list[this.below(list.length)]!;

  shuffled<T>(list: readonly T[]): T[] {
    const rest = [...list];
    return list.map(() => rest.splice(this.below(rest.length), 1)[0]!);
  }
}

/** A number as a plan may write it. */
const spell = (dice: Dice, n: number): string =>
  dice.pick([`${n}`, `0x${n.toString(16)}`, `0b${n.toString(2)}`, `"${n}"`, `'0x${n.toString(16).toUpperCase()}'`]);

/** Where every bit of a field or output is: its pin, and whether a stroke turns it over. */
interface Wire {
  readonly name: string;
  readonly bit: number;
  readonly pin: number;
  readonly inverted: boolean;
}

/** Gives the bits of named numbers random pins with random strokes, and writes the entries of the pin list. */
function wired(dice: Dice, letter: 'A' | 'D', widths: ReadonlyMap<string, number>, pins: number[]) {
  const wires: Wire[] = [];
  const entries: string[] = [];
  const give = (key: string, name: string, from: number, to: number, keyStroke: boolean): void => {
    const written = Array.from({ length: to - from + 1 }, (_, i) => {
      const pin = pins.shift()!;
      const pinStroke = !keyStroke && dice.below(3) === 0;
      wires.push({ name, bit: from + i, pin, inverted: keyStroke || pinStroke });
      return `${pinStroke ? '/' : ''}${letter}${pin}`;
    });
    entries.push(`${keyStroke ? '/' : ''}${key}: [${written.join(', ')}]`);
  };
  for (const [name, bits] of widths) {
    if (bits > 1 && dice.yes()) {
      const cut = 1 + dice.below(bits - 1);
      give(`${name}.0..${cut - 1}`, name, 0, cut - 1, dice.below(3) === 0);
      give(
        cut === bits - 1 ? `${name}.${cut}` : `${name}.${cut}..${bits - 1}`,
        name,
        cut,
        bits - 1,
        dice.below(3) === 0,
      );
    } else give(name, name, 0, bits - 1, dice.below(3) === 0);
  }
  return { wires, entries };
}

const chip = { name: '28C16', lines: 11, cells: 2048 };

/** One ROM around a table: random pins, some tied, some unused, some outputs a second time as their complement. */
function romAround(
  dice: Dice,
  name: string,
  fields: ReadonlyMap<string, number>,
  outputs: ReadonlyMap<string, number>,
  at: (values: ReadonlyMap<string, number>) => Readonly<Record<string, number | undefined>>,
  fill: number | null,
  contents = '',
) {
  const addressPins = dice.shuffled(Array.from({ length: chip.lines }, (_, i) => i));
  const address = wired(dice, 'A', fields, addressPins);
  const ties = addressPins.map((pin) => ({ pin, word: dice.pick(['low', 'high', 'unused']) }));
  for (const word of ['low', 'high', 'unused']) {
    const of = ties.filter((t) => t.word === word).map((t) => `A${t.pin}`);
    if (of.length > 0) address.entries.push(`${word}: [${of.join(', ')}]`);
  }
  const dataPins = dice.shuffled([0, 1, 2, 3, 4, 5, 6, 7]);
  const data = wired(dice, 'D', outputs, dataPins);
  for (const [output, bits] of outputs) {
    // The other pin carries what the first does not.
    const first = data.wires.filter((w) => w.name === output);
    if (bits > dataPins.length || new Set(first.map((w) => w.inverted)).size > 1 || first[0]!.inverted || dice.yes())
      continue;
    if (data.entries.some((entry) => entry.startsWith(`/${output}:`))) continue;
    const pins = Array.from({ length: bits }, () => dataPins.shift()!);
    for (const [bit, pin] of pins.entries()) data.wires.push({ name: output, bit, pin, inverted: true });
    data.entries.push(`/${output}: [${pins.map((p) => `D${p}`).join(', ')}]`);
  }
  if (dataPins.length > 0) data.entries.push(`unused: [${dataPins.map((p) => `D${p}`).join(', ')}]`);
  const cells = Array.from({ length: chip.cells }, (_, cell): number | null => {
    const level = (pin: number): number => Math.floor(cell / 2 ** pin) % 2;
    const isThere = ties.every(({ pin, word }) => word === 'unused' || level(pin) === (word === 'high' ? 1 : 0));
    if (!isThere) return fill;
    const values = new Map([...fields].map(([field]) => [field, 0]));
    for (const w of address.wires) {
      if (level(w.pin) !== Number(w.inverted)) values.set(w.name, values.get(w.name)! + 2 ** w.bit);
    }
    const given = at(values);
    if (data.wires.every((w) => given[w.name] === undefined)) return fill;
    let byte = 0;
    for (let pin = 0; pin < 8; pin++) {
      const carried = data.wires.filter((w) => w.pin === pin);
      const speaking = carried.find((w) => given[w.name] !== undefined);
      // Pins that carry nothing hold 1 or the bit of the fill; an output that nobody cares about is at rest.
      const bit = speaking
        ? (Math.floor(given[speaking.name]! / 2 ** speaking.bit) % 2) ^ Number(speaking.inverted)
        : carried.length > 0
          ? Number(carried[0]!.inverted)
          : Math.floor((fill ?? 0xff) / 2 ** pin) % 2;
      byte += bit * 2 ** pin;
    }
    return byte;
  });
  const yaml = [
    `  ${name}:`,
    `    chip: ${chip.name}`,
    `    address: { ${dice.shuffled(address.entries).join(', ')} }`,
    `    data: { ${data.entries.join(', ')} }`,
    ...(contents === '' ? [] : [contents]),
  ].join('\n');
  return { yaml, cells };
}

const anyFill = (dice: Dice): number | null => (dice.yes() ? null : dice.below(256));
const fillLine = (dice: Dice, fill: number | null): string[] => (fill === null ? [] : [`fill: ${spell(dice, fill)}`]);

/** A truth table as rows, one for every setting, some left out; a don't care here and there. */
function truthTable(
  dice: Dice,
  fields: ReadonlyMap<string, number>,
  names: ReadonlyMap<string, readonly string[]>,
  outputs: ReadonlyMap<string, number>,
  indent: string,
) {
  const table = new Map<string, Readonly<Record<string, number | undefined>>>();
  const rows: string[] = [];
  const settings = [...fields].reduce<number[][]>(
    (before, [, bits]) => before.flatMap((s) => Array.from({ length: 2 ** bits }, (_, v) => [...s, v])),
    [[]],
  );
  for (const setting of settings) {
    if (dice.below(12) === 0) continue;
    const given = Object.fromEntries(
      [...outputs].map(([o, bits]) => [o, dice.below(9) === 0 ? undefined : dice.below(2 ** bits)]),
    );
    table.set(setting.join(), given);
    const when = [...fields].map(
      ([f], k) => `${f}: ${names.get(f) && dice.yes() ? names.get(f)![setting[k]!] : spell(dice, setting[k]!)}`,
    );
    const give = Object.entries(given).map(([o, v]) => `${o}: ${v === undefined ? 'any' : spell(dice, v)}`);
    rows.push(`${indent}  - { when: { ${when.join(', ')} }, give: { ${give.join(', ')} } }`);
  }
  const listed = [...outputs].map(([o, bits]) => `${o}: ${spell(dice, bits)}`).join(', ');
  const yaml = [`${indent}kind: truth-table`, `${indent}outputs: { ${listed} }`, `${indent}rows:`, ...rows].join('\n');
  const order = [...fields.keys()];
  return {
    yaml,
    at: (values: ReadonlyMap<string, number>) => table.get(order.map((f) => values.get(f)!).join()) ?? {},
  };
}

const fieldLines = (
  dice: Dice,
  fields: ReadonlyMap<string, number>,
  names: ReadonlyMap<string, readonly string[]>,
): string[] => [
  'fields:',
  ...[...fields].map(([f, bits]) =>
    names.has(f)
      ? `  ${f}: { bits: ${spell(dice, bits)}, names: { ${names
          .get(f)!
          .map((n, v) => `${n}: ${spell(dice, v)}`)
          .join(', ')} } }`
      : `  ${f}: ${spell(dice, bits)}`,
  ),
];

const wordsOf = (field: string, bits: number): readonly string[] =>
  Array.from({ length: 2 ** bits }, (_, v) => `${field}-is-${v}`);

function truthPlan(dice: Dice): Judged {
  const fields = new Map([
    ['gust', 1 + dice.below(3)],
    ['tide', 1 + dice.below(2)],
  ]);
  const names = new Map([['tide', wordsOf('tide', fields.get('tide')!)]]);
  const outputs = new Map([
    ['lamp', 1],
    ['level', 1 + dice.below(4)],
  ]);
  const fill = anyFill(dice);
  const table = truthTable(dice, fields, names, outputs, '  ');
  const rom = romAround(dice, 'mast', fields, outputs, table.at, fill);
  const yaml = [
    'plan: judged',
    ...fieldLines(dice, fields, names),
    'contents:',
    table.yaml,
    ...fillLine(dice, fill),
    'roms:',
    rom.yaml,
  ].join('\n');
  return { yaml, files: {}, roms: { mast: rom.cells } };
}

function bankPlan(dice: Dice): Judged {
  const own = new Map([['gust', 1 + dice.below(3)]]);
  const fields = new Map([...own, ['half', 1 + dice.below(2)]]);
  const names = new Map([['half', wordsOf('half', fields.get('half')!)]]);
  const outputs = new Map([
    ['lamp', 1],
    ['level', 1 + dice.below(3)],
  ]);
  const fill = anyFill(dice);
  const values = dice.shuffled(Array.from({ length: 2 ** fields.get('half')! }, (_, v) => v)).slice(0, 2);
  const banks = values.map((value) => ({ value, ...truthTable(dice, own, new Map(), outputs, '        ') }));
  const at = (v: ReadonlyMap<string, number>) => banks.find((b) => b.value === v.get('half'))?.at(v) ?? {};
  const rom = romAround(dice, 'mast', fields, outputs, at, fill);
  const lines = banks.flatMap((b) => [
    `    - value: ${dice.yes() ? names.get('half')![b.value] : spell(dice, b.value)}`,
    '      contents:',
    b.yaml,
  ]);
  const yaml = [
    'plan: judged',
    ...fieldLines(dice, fields, names),
    'contents:',
    '  kind: banks',
    '  select: half',
    '  banks:',
    ...lines,
    ...fillLine(dice, fill),
    'roms:',
    rom.yaml,
  ].join('\n');
  return { yaml, files: {}, roms: { mast: rom.cells } };
}

/** The remainder of polynomial division, with the message as one long list of bits. */
function crcOf(
  bytes: readonly number[],
  width: number,
  poly: number,
  init: number,
  reflected: boolean,
  xorout: number,
): number {
  const bits = bytes.flatMap((byte) => {
    const eight = Array.from({ length: 8 }, (_, i) => (byte >> (7 - i)) & 1);
    return reflected ? eight.reverse() : eight;
  });
  let rest = Array.from({ length: width }, (_, i) => Math.floor(init / 2 ** (width - 1 - i)) % 2);
  for (const bit of bits) {
    const [top, ...others] = rest;
    rest = [...others, 0];
    if (top !== bit) rest = rest.map((b, i) => b ^ (Math.floor(poly / 2 ** (width - 1 - i)) % 2));
  }
  const value = (reflected ? rest.reverse() : rest).reduce((sum, b) => sum * 2 + b, 0);
  return Number(BigInt(value) ^ BigInt(xorout));
}

const sums: Readonly<Record<string, { bytes: number; of: (b: readonly number[]) => number }>> = {
  'sum-8': { bytes: 1, of: (b) => b.reduce((s, x) => s + x, 0) % 256 },
  'sum-8-negated': { bytes: 1, of: (b) => (256 - (b.reduce((s, x) => s + x, 0) % 256)) % 256 },
  'sum-16': { bytes: 2, of: (b) => b.reduce((s, x) => s + x, 0) % 65536 },
  'crc-8/smbus': { bytes: 1, of: (b) => crcOf(b, 8, 7, 0, false, 0) },
  'crc-16/xmodem': { bytes: 2, of: (b) => crcOf(b, 16, 0x1021, 0, false, 0) },
  'crc-16/ibm-3740': { bytes: 2, of: (b) => crcOf(b, 16, 0x1021, 0xffff, false, 0) },
  'crc-16/kermit': { bytes: 2, of: (b) => crcOf(b, 16, 0x1021, 0, true, 0) },
  'crc-16/arc': { bytes: 2, of: (b) => crcOf(b, 16, 0x8005, 0, true, 0) },
  'crc-16/modbus': { bytes: 2, of: (b) => crcOf(b, 16, 0x8005, 0xffff, true, 0) },
  'crc-32/iso-hdlc': { bytes: 4, of: (b) => crcOf(b, 32, 0x04c11db7, 0xffffffff, true, 0xffffffff) },
  'crc-32/bzip2': { bytes: 4, of: (b) => crcOf(b, 32, 0x04c11db7, 0xffffffff, false, 0xffffffff) },
};

const two = (n: number): string => n.toString(16).toUpperCase().padStart(2, '0');

/** A file of a format, written here: bytes at an address. */
const fileTexts: Readonly<Record<string, (at: number, bytes: readonly number[]) => string>> = {
  hex: (at, bytes) => {
    const body = [bytes.length, at >> 8, at & 255, 0, ...bytes];
    return `:${body.map(two).join('')}${two((256 - (body.reduce((a, b) => a + b, 0) % 256)) % 256)}\n:00000001FF\n`;
  },
  s19: (at, bytes) => {
    const body = [bytes.length + 3, at >> 8, at & 255, ...bytes];
    return `S1${body.map(two).join('')}${two(255 - (body.reduce((a, b) => a + b, 0) % 256))}\nS9030000FC\n`;
  },
  memh: (at, bytes) => `// made by hand\n@${at.toString(16)}\n${bytes.map((b) => b.toString(16)).join(' ')}\n`,
};

function piecesPlan(dice: Dice): Judged {
  const lanes = dice.pick([1, 2, 4, 3]);
  const bits = 6 + dice.below(3);
  const size = 2 ** bits * lanes;
  const all: (number | null)[] = new Array<number | null>(size).fill(null);
  const files: Record<string, Uint8Array> = {};
  const pieces: string[] = [];
  const fill = dice.yes() ? dice.below(256) : null;
  let next = dice.below(5);
  const random = (count: number): number[] => Array.from({ length: count }, () => dice.below(256));
  const lay = (at: number, bytes: readonly number[]): void => {
    bytes.forEach((byte, i) => {
      all[at + i] = byte;
    });
    next = at + bytes.length + (dice.yes() ? 0 : dice.below(6));
  };
  for (let count = 2 + dice.below(4); count > 0 && next + 20 < size - 12; count--) {
    const bytes = random(1 + dice.below(12));
    const form = dice.pick(['bin', 'hex', 's19', 'memh', 'part', 'bytes', 'text']);
    const name = `piece-${count}.${form === 'part' ? 'bin' : form}`;
    if (form === 'bytes')
      pieces.push(`{ bytes: [${bytes.map((b) => spell(dice, b)).join(', ')}], at: ${spell(dice, next)} }`);
    else if (form === 'text') {
      const text = bytes.map((b) => String.fromCharCode(0x41 + (b % 26))).join('');
      pieces.push(`{ text: "${text}", at: ${spell(dice, next)} }`);
      lay(next, [...Buffer.from(text)]);
      continue;
    } else if (form === 'bin') {
      files[name] = Uint8Array.from(bytes);
      pieces.push(`{ file: ${name}, at: ${spell(dice, next)} }`);
    } else if (form === 'part') {
      const before = dice.below(9);
      files[name] = Uint8Array.from([...random(before), ...bytes, ...random(dice.below(9))]);
      pieces.push(
        `{ file: ${name}, part: ${before}..0x${(before + bytes.length - 1).toString(16)}, at: ${spell(dice, next)} }`,
      );
    } else {
      files[name] = Uint8Array.from(Buffer.from(fileTexts[form]!(next, bytes)));
      pieces.push(`{ file: ${name} }`);
    }
    lay(next, bytes);
  }
  const covered = all.map((byte, at) => ({ byte, at })).filter(({ byte }) => fill !== null || byte !== null);
  const sum = dice.pick(Object.keys(sums));
  // One stretch without holes, before the sum's own place.
  const from = covered[dice.below(Math.min(3, covered.length))]!.at;
  let to = from;
  while (to + 1 < size - 8 && (fill !== null || all[to + 1] !== null) && dice.below(40) > 0) to++;
  const { bytes: length, of } = sums[sum]!;
  const value = of(all.slice(from, to + 1).map((byte) => byte ?? fill!));
  const high = dice.yes();
  pieces.splice(
    dice.below(pieces.length + 1),
    0,
    `{ sum: ${sum}, of: ${from}..${to}, at: ${size - 8}${high ? ', order: high-first' : ''} }`,
  );
  for (let i = 0; i < length; i++) all[size - 8 + (high ? length - 1 - i : i)] = Math.floor(value / 256 ** i) % 256;
  const names = ['east', 'north', 'west', 'south'].slice(0, lanes);
  const fields = new Map([['cell', bits]]);
  const planFill = anyFill(dice);
  const roms = names.map((name, lane) => ({
    name,
    ...romAround(
      dice,
      `chip-${name}`,
      fields,
      new Map([[name, 8]]),
      (v) => ({ [name]: all[v.get('cell')! * lanes + lane] ?? fill ?? undefined }),
      planFill,
    ),
  }));
  const yaml = [
    'plan: judged',
    ...fieldLines(dice, fields, new Map()),
    'contents:',
    '  kind: pieces',
    '  address: cell',
    `  outputs: [${names.join(', ')}]`,
    ...(fill === null ? [] : [`  fill: ${spell(dice, fill)}`]),
    '  pieces:',
    ...pieces.map((piece) => `    - ${piece}`),
    ...fillLine(dice, planFill),
    'roms:',
    ...roms.map((r) => r.yaml),
  ].join('\n');
  return { yaml, files, roms: Object.fromEntries(roms.map((r) => [`chip-${r.name}`, r.cells])) };
}

const makers = [truthPlan, bankPlan, piecesPlan, piecesPlan];

/** A plan and its bytes; the same seed gives the same. */
export const judgedPlan = (seed: number): Judged => makers[seed % makers.length]!(new Dice(seed + 1));
