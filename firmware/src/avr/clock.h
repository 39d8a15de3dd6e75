/* Time: half microseconds for the chip, slow ticks for the line. No interrupt: whoever waits looks. */
#ifndef CLOCK_H
#define CLOCK_H

#include <avr/io.h>  // TCNT1
#include <stdbool.h> // bool
#include <stdint.h>  // uint16_t

#define HALF_US_PER_US 2

/* A tick of 16.384 ms: 256 counts of 1024 cycles at 16 MHz. Rounded up, and one more because the first is cut short. */
#define SLOW_TICKS(ms) ((uint8_t)((ms) / 16.384) + 2)

static inline void clock_start(void)
{
    TCCR1A = 0;
    TCCR1B = _BV(CS11);            /* 16 MHz / 8: half a microsecond */
    TCCR0A = 0;
    TCCR0B = _BV(CS02) | _BV(CS00); /* 16 MHz / 1024 */
}

/* Half microseconds, modulo 32.768 ms. */
static inline uint16_t clock_now(void)
{
    return TCNT1;
}

/* Has a slow tick passed? Stays so until clock_tick_seen; asked too late, ticks are lost. */
static inline bool clock_ticked(void)
{
    return (TIFR0 & _BV(TOV0)) != 0;
}

static inline void clock_tick_seen(void)
{
    TIFR0 = _BV(TOV0);
}

#endif
