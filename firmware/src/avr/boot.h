/* What happens between a reset and the first line. */
#ifndef BOOT_H
#define BOOT_H

#include <stdint.h> // uint16_t

/* Brings the pins and everything else into order; leaves the chip alone for 25 ms, as it may still be writing. */
void boot(void);

/* A number that is another one after every start. */
uint16_t boot_nonce(void);

#endif
