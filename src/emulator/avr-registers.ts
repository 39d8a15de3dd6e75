// Addresses and bits of the ATmega328P's registers that the bench looks at (ATmega328P data sheet, register summary).

export const PINB = 0x23;
export const DDRB = 0x24;
export const PORTB = 0x25;
export const PINC = 0x26;
export const PIND = 0x29;
export const SPCR = 0x4c;
export const SPSR = 0x4d;
export const SPDR = 0x4e;
export const SMCR = 0x53;
export const MCUSR = 0x54;
export const SREG = 0x5f;
export const UCSR0A = 0xc0;
export const UCSR0B = 0xc1;
export const UCSR0C = 0xc2;
export const UBRR0L = 0xc4;
export const UBRR0H = 0xc5;
export const UDR0 = 0xc6;

/** Where the SRAM begins in the data space, and its size. */
export const sramStart = 0x100;
export const sramBytes = 2048;
export const eepromBytes = 1024;

/** Reset flags of MCUSR. */
export const resetFlag = { power: 0x01, external: 0x02, watchdog: 0x08 } as const;
export type ResetCause = keyof typeof resetFlag;
