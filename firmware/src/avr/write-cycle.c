/* Waiting for the end of a write cycle (firmware-protocol.md section 4, `chip`: window, cycle, poll). */
#include "write-cycle.h" // cycle_begin

#include <stdbool.h> // bool

#include "../request-rules.h" // chip
#include "chip-bus.h"         // chip_read_once
#include "clock.h"            // clock_now
#include "serial.h"           // serial_send_waiting

/* Reads in a row that must say "ready": the one that first does, and one that confirms it. */
#define CONFIRMATIONS 2

#define DATA_BIT 0x80
#define TOGGLE_BIT 0x40

static bool in_window;
static uint16_t looked_at;   /* when time was last taken */
static uint32_t half_us_left; /* of the window, then of the limit */
static uint8_t last_byte;
static uint8_t previous; /* what the last poll read */
static uint8_t ready_reads;

void cycle_begin(uint8_t last)
{
    looked_at = clock_now();
    last_byte = last;
    half_us_left = (uint32_t)chip.window_us * HALF_US_PER_US;
    in_window = true;
}

/* Takes the time that passed off what is left; false when nothing is. */
static bool time_is_left(void)
{
    uint16_t now = clock_now();
    uint16_t passed = now - looked_at;
    looked_at = now;
    if (passed >= half_us_left)
        return false;
    half_us_left -= passed;
    return true;
}

static void limit_begins(void)
{
    in_window = false;
    half_us_left = chip.cycle_us * HALF_US_PER_US;
    ready_reads = 0;
    previous = chip.poll == POLL_TOGGLE ? chip_read_once() : (uint8_t)~last_byte;
}

/* Two reads that agree mean that the cycle is over after all, or that there was none: comparing decides. */
static uint8_t judge_at_limit(void)
{
    return chip_read_once() == chip_read_once() ? CYCLE_OVER : CYCLE_NEVER_READY;
}

static bool reads_ready(void)
{
    uint8_t byte = chip_read_once();
    uint8_t changed = chip.poll == POLL_TOGGLE ? (byte ^ previous) & TOGGLE_BIT : (byte ^ last_byte) & DATA_BIT;
    previous = byte;
    return changed == 0;
}

uint8_t cycle_look(void)
{
    bool left = time_is_left();
    if (in_window) {
        if (left)
            return CYCLE_BUSY;
        limit_begins();
        return CYCLE_BUSY;
    }
    if (chip.poll != POLL_LIMIT) {
        for (ready_reads = 0; reads_ready(); ready_reads++) {
            if (ready_reads + 1 == CONFIRMATIONS)
                return CYCLE_OVER;
        }
    }
    return left ? CYCLE_BUSY : judge_at_limit();
}

void cycle_wait_out(void)
{
    while (time_is_left())
        serial_send_waiting();
    limit_begins();
    while (time_is_left())
        serial_send_waiting();
}
