/* The protection codes. Addresses are masked to the chip's size: 5555 is 1555 on a chip of 8192 cells. */
#include "protection.h" // protection_load_prefix

#include <stdint.h> // uint8_t

#include "../flash.h"         // FLASH
#include "../request-rules.h" // chip
#include "page-transfer.h"    // page_load

#define FIRST_ADDRESS 0x5555ul
#define SECOND_ADDRESS 0x2AAAul

static void load_code(uint32_t address, uint8_t code)
{
    page_load(address & (chip.cells - 1), &code, 1);
}

static void load_three(uint8_t last)
{
    load_code(FIRST_ADDRESS, 0xAA);
    load_code(SECOND_ADDRESS, 0x55);
    load_code(FIRST_ADDRESS, last);
}

void protection_load_prefix(void)
{
    load_three(0xA0);
}

void protection_load_release(void)
{
    load_three(0x80);
    load_three(0x20);
}
