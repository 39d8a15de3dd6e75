/* Waiting for the end of a write cycle without standing still: a step at a time from the main loop. */
#ifndef WRITE_CYCLE_H
#define WRITE_CYCLE_H

#include <stdint.h> // uint8_t

enum cycle_state { CYCLE_BUSY, CYCLE_OVER, CYCLE_NEVER_READY };

/* The last load has just ended; `last` is its byte, and its address is still on the lines. The chip stays selected. */
void cycle_begin(uint8_t last);

/*
 * Looks once, or, when the end must be near going by the cycle before, until it is found. CYCLE_NEVER_READY: the limit is over and the cell still reads differently from one read to the next.
 */
uint8_t cycle_look(void);

/* Waits window and limit out, whatever the chip shows (after protection codes there is no cell to poll). */
void cycle_wait_out(void);

#endif
