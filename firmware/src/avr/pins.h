/* The pin map of the writer (firmware/README.md has the wiring). */
#ifndef PINS_H
#define PINS_H

#include <avr/io.h> // PORTB, PORTC, PORTD

/* Port B: D0 and D1, the SPI to the address registers, and the latch of the first register. */
#define DATA_LOW 0x03
#define CELL_LATCH PB2
#define CHAIN_OUT PB3
#define CHAIN_RETURN PB4
#define CHAIN_CLOCK PB5

/* Port C: lamp, control lines, and the latch of the further registers. */
#define LAMP PC0
#define CE PC1
#define ROW_LATCH PC2
#define WE PC3
#define OE PC5

/* Port D: serial line, D2 to D7. */
#define DATA_HIGH 0xFC
#define SERIAL_IN PD0
#define SERIAL_OUT PD1

/* Port B and D with the data lines released: outputs, and levels (pull-ups on the chain return and on serial in). */
#define DDRB_RELEASED (_BV(CELL_LATCH) | _BV(CHAIN_OUT) | _BV(CHAIN_CLOCK))
#define PORTB_RELEASED _BV(CHAIN_RETURN)
#define DDRD_RELEASED _BV(SERIAL_OUT)
#define PORTD_RELEASED (_BV(SERIAL_IN) | _BV(SERIAL_OUT))

#define CONTROL_HIGH (_BV(CE) | _BV(WE) | _BV(OE))
#define DDRC_ALL (_BV(LAMP) | _BV(ROW_LATCH) | CONTROL_HIGH)
/* The unused PC4 gets a pull-up, so that it does not float. */
#define PORTC_IDLE (CONTROL_HIGH | _BV(PC4))

static inline void lamp_on(void)
{
    PORTC |= _BV(LAMP);
}

static inline void lamp_off(void)
{
    PORTC &= (uint8_t)~_BV(LAMP);
}

#endif
