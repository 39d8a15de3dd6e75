/* The two inner loops: a run of bytes into the chip's page buffer, and a run of cells compared with bytes. */
#ifndef PAGE_TRANSFER_H
#define PAGE_TRANSFER_H

#include <stdbool.h> // bool
#include <stdint.h>  // uint8_t

/* Bytes of one transfer: 1 to 256 and all in one row of 256 cells. 0 stands for 256. */
typedef uint8_t run_count;

/*
 * Loads bytes from `address` on. The chip must be selected with its outputs off; the data lines are driven during the
 * call and released after it. Falling edges of /WE are 19 cycles apart (1.2 us), with a receive interrupt between 52.
 */
void page_load(uint32_t address, const uint8_t *bytes, run_count count);

/* Loads one byte at the address on the lines. The chip must be selected with its outputs off. */
void cell_load(uint8_t byte);

struct difference {
    uint8_t offset; /* of the first cell that differs */
    uint8_t wanted;
    uint8_t actual;
};

/* Compares cells with bytes; false, and where, at the first that differs. The chip must be selected. */
bool page_compare(uint32_t address, const uint8_t *bytes, run_count count, struct difference *difference);

#endif
