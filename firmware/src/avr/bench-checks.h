/* What a builder checks on the bench: does a chip drive the bus, and lines held still for a meter. */
#ifndef BENCH_CHECKS_H
#define BENCH_CHECKS_H

#include <stdint.h> // uint8_t

/* Data lines that followed the charge both times (firmware-protocol.md, `presence`). */
uint8_t presence_mask(uint32_t address);

/* Holds the lines as the good `hold` request says; gives the data lines as read. */
uint8_t hold_lines(void);
/* /CE, /OE, /WE high, data released, address 0. */
void park_lines(void);

#endif
