// Tiny AVR programs for the tests, assembled by hand: encodings from the AVR instruction set manual.

const imm = (base: number, d: number, k: number): number => base | ((k & 0xf0) << 4) | ((d - 16) << 4) | (k & 0x0f);
const io = (base: number, r: number, a: number): number => base | ((a & 0x30) << 5) | (r << 4) | (a & 0x0f);
const two = (base: number, d: number, r: number): number => base | ((r & 0x10) << 5) | (d << 4) | (r & 0x0f);
const bit = (base: number, a: number, b: number): number => base | (a << 3) | b;
const rel = (base: number, words: number): number => base | ((words & 0x7f) << 3);

/** I/O addresses (for IN, OUT, SBI, CBI): data space minus 0x20. */
export const io8 = {
  PINB: 0x03,
  DDRB: 0x04,
  PORTB: 0x05,
  PINC: 0x06,
  DDRC: 0x07,
  PORTC: 0x08,
  PIND: 0x09,
  DDRD: 0x0a,
  PORTD: 0x0b,
  SPCR: 0x2c,
  SPSR: 0x2d,
  SPDR: 0x2e,
  SMCR: 0x33,
  SREG: 0x3f,
} as const;

export const UCSR0A = 0xc0;
export const UCSR0B = 0xc1;
export const UBRR0L = 0xc4;
export const UDR0 = 0xc6;

export const ldi = (d: number, k: number) => [imm(0xe000, d, k)];
export const out = (a: number, r: number) => [io(0xb800, r, a)];
export const inn = (d: number, a: number) => [io(0xb000, d, a)];
export const sbi = (a: number, b: number) => [bit(0x9a00, a, b)];
export const cbi = (a: number, b: number) => [bit(0x9800, a, b)];
export const nop = [0x0000];
export const sei = [0x9478];
export const sleep = [0x9588];
export const reti = [0x9518];
export const lds = (d: number, k: number) => [0x9000 | (d << 4), k];
export const sts = (k: number, r: number) => [0x9200 | (r << 4), k];
export const dec = (d: number) => [0x940a | (d << 4)];
export const mov = (d: number, r: number) => [two(0x2c00, d, r)];
export const sbrs = (r: number, b: number) => [0xfe00 | (r << 4) | b];
export const brne = (words: number) => [rel(0xf401, words)];
export const rjmp = (words: number) => [0xc000 | (words & 0x0fff)];
/** Stays here for ever. */
export const halt = rjmp(-1);

/** Writes `value` to an I/O register through r16: two cycles, the pin moves at the end of the second. */
export const set = (a: number, value: number) => [...ldi(16, value), ...out(a, 16)];
/** Writes `value` to a register beyond the I/O range through r16. */
export const store = (address: number, value: number) => [...ldi(16, value), ...sts(address, 16)];
/** 3 cycles a turn, `turns` 1 to 255, plus one for the LDI and one saved at the end: 3 * turns cycles in all. */
export const wait = (turns: number) => [...ldi(17, turns), ...dec(17), ...brne(-2)];
/** `us` microseconds, roughly and not less, up to 20 ms. */
export const waitUs = (us: number) => {
  const outer = Math.min(255, Math.ceil(us / 47));
  return [...ldi(18, outer), ...wait(250), ...dec(18), ...brne(-5)];
};

/** The .hex text of program words. */
export function hexOfWords(words: readonly number[]): string {
  const bytes = words.flatMap((w) => [w & 0xff, w >> 8]);
  const lines: string[] = [];
  for (let at = 0; at < bytes.length; at += 16) {
    const row = bytes.slice(at, at + 16);
    const record = [row.length, at >> 8, at & 0xff, 0, ...row];
    const sum = -record.reduce((a, b) => a + b, 0) & 0xff;
    lines.push(`:${[...record, sum].map((b) => b.toString(16).toUpperCase().padStart(2, '0')).join('')}`);
  }
  return `${lines.join('\n')}\n:00000001FF\n`;
}

/** A program with this code at the USART's receive vector (18, two words each) and the main program behind the vectors. */
export function withReceiveInterrupt(main: readonly number[], handler: readonly number[]): number[] {
  const words = new Array<number>(52).fill(0);
  words[0] = 0xc000 | (52 - 1);
  words[36] = 0xc000 | (52 + main.length - 37);
  return [...words, ...main, ...handler];
}

/** Switches the USART to 1 000 000 baud (U2X, UBRR 1), receiver and transmitter on, `interrupts` in UCSR0B. */
export const serialAt1M = (interrupts = 0) => [
  ...store(UCSR0A, 0x02),
  ...store(UBRR0L, 1),
  ...store(UCSR0B, 0x18 | interrupts),
];
