// Measures the firmware from its disassembly (avr-objdump -h -d): flash, RAM, cycles of the receive interrupt, depth of
// the stack. Every instruction it meets must be known to it, so that no figure is a guess; it fails where one is not, where
// the interrupt reaches 80 cycles, or where the stack could meet the variables.
// Cycles: AVR instruction set manual, timing of the AVRe+ core.
import { readFileSync } from 'node:fs';

const FLASH_BYTES = 32768;
const BOOT_LOADER_BYTES = 2048; // the largest boot section that common loaders of this part take
const RAM_START = 0x800100;
const RAM_BYTES = 2048;
const INTERRUPT_LIMIT = 80;
const STACK_SPARE_MIN = 16;
const RECEIVE_VECTOR = 18; // USART_RX of the ATmega328P

const fail = (text) => {
  process.stderr.write(`measure: ${text}\n`);
  process.exit(1);
};

const listing = readFileSync(process.argv[2], 'utf8');

const section = (name) => {
  const row = new RegExp(`^ *\\d+ ${name.replace('.', '\\.')} +([0-9a-f]+) +([0-9a-f]+)`, 'm').exec(listing);
  return row ? { size: parseInt(row[1], 16), from: parseInt(row[2], 16) } : { size: 0, from: 0 };
};

/** Instructions by address: { name, operands, target }, and functions by name. */
const code = new Map();
const functions = new Map();
let current = '';
for (const line of listing.split('\n')) {
  const head = /^([0-9a-f]{8}) <(.+)>:$/.exec(line);
  if (head) {
    current = head[2];
    functions.set(current, { start: parseInt(head[1], 16), instructions: [] });
    continue;
  }
  const row = /^ *([0-9a-f]+):\t((?:[0-9a-f]{2} )+)\s*\t([a-z.]+)\t?(.*)$/.exec(line);
  if (!row) continue;
  const [, at, bytes, name, rest] = row;
  const target = /0x([0-9a-f]+)\t?/.exec(rest.includes(';') ? rest.slice(rest.indexOf(';')) : rest);
  const instruction = {
    at: parseInt(at, 16),
    size: bytes.trim().split(' ').length,
    name,
    operands: rest.split(';')[0].trim(),
    target: target ? parseInt(target[1], 16) : null,
    of: current,
  };
  code.set(instruction.at, instruction);
  functions.get(current)?.instructions.push(instruction);
}

// Cycles of straight instructions; those that branch or skip are treated below.
const cycles = {
  1: 'in out ldi andi ori subi sbci cp cpi cpc inc dec eor or and mov movw add adc sub sbc clr tst com neg lsr ror asr swap cli sei nop sbr cbr',
  2: 'push pop lds sts ld ldd st std sbi cbi adiw sbiw mul',
  3: 'lpm',
};
const straight = new Map(Object.entries(cycles).flatMap(([n, names]) => names.split(' ').map((name) => [name, Number(n)])));
const isBranch = (name) => /^br[a-z]{2}$/.test(name);

/** Cycles of the longest way from an address to its RETI. A loop has no longest way and is refused. */
function longestWay(at, seen = new Set()) {
  const i = code.get(at) ?? fail(`no instruction at ${at.toString(16)}`);
  if (seen.has(at)) fail(`the receive interrupt loops at ${at.toString(16)}`);
  const on = new Set(seen).add(at);
  const next = at + i.size;
  if (i.name === 'reti') return 4;
  if (i.name === 'rjmp') return 2 + longestWay(i.target, on);
  if (i.name === 'jmp') return 3 + longestWay(i.target, on);
  if (isBranch(i.name)) return Math.max(1 + longestWay(next, on), 2 + longestWay(i.target, on));
  const cost = straight.get(i.name) ?? fail(`the receive interrupt uses ${i.name}, whose cycles are not listed`);
  return cost + longestWay(next, on);
}

/** Bytes a function's own frame takes at most, pushes and SP arithmetic alike. */
function frameOf(name) {
  let bytes = 0;
  let fromSp = false;
  for (const i of functions.get(name).instructions) {
    if (i.name === 'push') bytes++;
    if (i.name === 'rcall' && i.operands.startsWith('.+0')) bytes += 2; // gcc's way to make room of two bytes
    if (i.name === 'in' && /^r28, 0x3d/.test(i.operands)) fromSp = true;
    if (fromSp && i.name === 'sbiw' && i.operands.startsWith('r28')) {
      bytes += parseInt(i.operands.split(',')[1], 16);
      fromSp = false;
    }
    if (fromSp && i.name === 'subi' && i.operands.startsWith('r28')) fail(`${name} has a frame that is too large to be read here`);
  }
  return bytes;
}

const functionAt = new Map([...functions].map(([name, f]) => [f.start, name]));
const depths = new Map();
/** Deepest stack below a function's entry, its return addresses included, and the way there. */
function depthOf(name, above = []) {
  const known = depths.get(name);
  if (known) return known;
  if (above.includes(name)) fail(`${name} calls itself`);
  let deepest = { bytes: 0, way: [] };
  for (const i of functions.get(name).instructions) {
    if (i.name === 'icall' || i.name === 'ijmp') fail(`${name} calls through a pointer`);
    const called = functionAt.get(i.target);
    const isCall = (i.name === 'call' || i.name === 'rcall') && called !== undefined;
    // A jump into another function is a call in the last place: it leaves no return address.
    const isTail = (i.name === 'jmp' || i.name === 'rjmp') && called !== undefined && called !== name;
    if (!isCall && !isTail) continue;
    const below = depthOf(called, [...above, name]);
    const bytes = below.bytes + (isCall ? 2 : 0);
    if (bytes > deepest.bytes) deepest = { bytes, way: below.way };
  }
  const result = { bytes: frameOf(name) + deepest.bytes, way: [name, ...deepest.way] };
  depths.set(name, result);
  return result;
}

const vector = `__vector_${RECEIVE_VECTOR}`;
const interrupt = functions.get(vector) ?? fail(`no ${vector}: the receive interrupt is missing`);
for (const name of functions.keys()) {
  if (name.startsWith('__vector_') && name !== vector && name !== '__vectors') fail(`${name}: only receiving may be by interrupt`);
}
for (const i of code.values()) {
  if (i.of !== vector && /\br[2-5]\b/.test(i.operands)) fail(`${i.of} uses a register of the receive interrupt: ${i.name} ${i.operands}`);
}
// Four cycles to enter, three for the jump in the vector table (data sheet, interrupt response time).
const interruptCycles = 4 + 3 + longestWay(interrupt.start);
const interruptStack = 2 + interrupt.instructions.filter((i) => i.name === 'push').length;

const flash = section('.text').size + section('.data').size;
const ring = section('.ring');
if (ring.from % 256 !== 0) fail('the receive ring is not at a 256-byte boundary');
const variables = section('.data').size + section('.bss').size + section('.noinit').size;
const main = depthOf('main');
const stackRoom = ring.from - RAM_START - variables;
const stackNeed = 2 + main.bytes + interruptStack;

const print = (label, text) => process.stdout.write(`${label.padEnd(18)} ${text}\n`);
print('flash', `${flash} of ${FLASH_BYTES - BOOT_LOADER_BYTES} bytes (${BOOT_LOADER_BYTES} are left to a boot loader)`);
print('RAM', `${variables + ring.size} of ${RAM_BYTES} bytes: ${variables} variables, ${ring.size} receive ring`);
print('stack', `${stackNeed} of ${stackRoom} bytes, headroom ${stackRoom - stackNeed} (deepest: ${main.way.join(' > ')}, interrupt ${interruptStack})`);
print('receive interrupt', `${interruptCycles} cycles, limit ${INTERRUPT_LIMIT - 1}; a character takes 160 at 1 000 000 baud`);
if (flash > FLASH_BYTES - BOOT_LOADER_BYTES) fail('the program is too large');
if (interruptCycles >= INTERRUPT_LIMIT) fail('the receive interrupt is too long');
if (stackRoom - stackNeed < STACK_SPARE_MIN) fail('the stack could meet the variables');
