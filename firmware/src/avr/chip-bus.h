/* The chip's data and control lines. The data lines are never driven while /OE is low. */
#ifndef CHIP_BUS_H
#define CHIP_BUS_H

#include <stdint.h> // uint8_t

#include "pins.h" // CE, OE, WE

/* From /OE or an address to a sample: 350 ns for the slowest parts, and two cycles that the input register is late. */
#define ACCESS_CYCLES 8
/* /OE high until the chip has surely let go of the lines (tDF 60 ns), and between two polls (150 ns on large parts). */
#define RELEASE_CYCLES 3

static inline void bus_release(void)
{
    DDRD = DDRD_RELEASED;
    DDRB = DDRB_RELEASED;
    PORTD = PORTD_RELEASED;
    PORTB = PORTB_RELEASED;
}

/* Drives a byte; /OE must be high. The latch of the cells is low before and after. */
static inline void bus_drive(uint8_t byte)
{
    PORTD = byte | PORTD_RELEASED;
    PORTB = (byte & DATA_LOW) | PORTB_RELEASED;
    DDRD = DATA_HIGH | DDRD_RELEASED;
    DDRB = DATA_LOW | DDRB_RELEASED;
}

/* What the data lines carried one to two cycles ago. */
static inline uint8_t bus_sample(void)
{
    uint8_t high = PIND, low = PINB;
    return (high & DATA_HIGH) | (low & DATA_LOW);
}

static inline void chip_select(void)
{
    PORTC &= (uint8_t)~_BV(CE);
}

static inline void chip_deselect(void)
{
    PORTC |= _BV(CE);
}

/* The chip drives the data lines; they must be released. */
static inline void chip_outputs_on(void)
{
    PORTC &= (uint8_t)~_BV(OE);
}

static inline void chip_outputs_off(void)
{
    PORTC |= _BV(OE);
    __builtin_avr_delay_cycles(RELEASE_CYCLES);
}

/* One pulse of /OE around a sample of a selected chip: what polling needs. */
static inline uint8_t chip_read_once(void)
{
    chip_outputs_on();
    __builtin_avr_delay_cycles(ACCESS_CYCLES);
    uint8_t byte = bus_sample();
    chip_outputs_off();
    return byte;
}

#endif
