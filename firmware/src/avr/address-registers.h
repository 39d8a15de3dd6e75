/* The chip's address lines: 74HC595 registers on the SPI. */
#ifndef ADDRESS_REGISTERS_H
#define ADDRESS_REGISTERS_H

#include <stdint.h> // uint32_t

#include "pins.h" // CELL_LATCH

/* Cycles after which a byte given to the SPI has surely left, at half the clock: 16, and one or two to begin. */
#define SPI_BYTE_CYCLES 18

/* Sets the SPI up; the outputs of the registers stay random until the first address_set. */
void address_start(void);

/*
 * Brings an address as far as the shift registers, and its upper bits (A8 and up) out to the chip. The lower ones
 * follow at the next latch of the cells.
 */
void address_prepare(uint32_t address);

/* Puts an address on the lines. */
void address_set(uint32_t address);

/* Registers fitted, counted through the chain return; 0: no return seen. The outputs do not move. */
uint8_t address_count_registers(void);

/* Puts the low byte in the first register on A0 to A7. */
static inline void address_latch_cells(void)
{
    PORTB |= _BV(CELL_LATCH);
    PORTB &= (uint8_t)~_BV(CELL_LATCH);
}

/*
 * Begins to shift another low byte in; the outputs keep the address. Takes SPI_BYTE_CYCLES on its own, which the caller
 * lets pass before anything else is done here.
 */
static inline void address_shift_cells(uint8_t low)
{
    SPDR = low;
}

#endif
