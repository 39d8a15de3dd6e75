/* Waiting for the end of a write cycle (firmware-protocol.md section 4, `chip`: window, cycle, poll). */
#include "write-cycle.h" // cycle_begin

#include <stdbool.h> // bool

#include "../request-rules.h" // chip
#include "chip-bus.h"         // chip_read_once
#include "clock.h"            // clock_now
#include "serial.h"           // serial_backlog

#define DATA_BIT 0x80
#define TOGGLE_BIT 0x40

/* Half microseconds of a wait that one difference of clock_now may cover; longer waits are made of several. */
#define STRETCH_MAX 30000u

/* Received characters that may wait for the end of a cycle: 1.6 ms at 1 000 000 baud, and room for half as much more. */
#define PATIENCE 160

static bool in_window;
static uint16_t stretch_from;   /* when the stretch at work began */
static uint16_t stretch;        /* its length */
static uint32_t after_stretch;  /* half microseconds to wait behind it */
static uint8_t last_byte;
static uint16_t cycle_from;       /* when the window was over */
static uint16_t soon_after;       /* half microseconds from there after which the end is near; 0: not known */
static uint16_t soon_for;         /* and for how long it may be called near */

static void next_stretch(void)
{
    stretch = after_stretch > STRETCH_MAX ? STRETCH_MAX : (uint16_t)after_stretch;
    after_stretch -= stretch;
}

static void wait_begins(uint32_t us)
{
    stretch_from = clock_now();
    after_stretch = us * HALF_US_PER_US;
    next_stretch();
}

/* True when the wait is over. */
static inline bool wait_is_over(void)
{
    if ((uint16_t)(clock_now() - stretch_from) < stretch)
        return false;
    if (after_stretch == 0)
        return true;
    stretch_from += stretch;
    next_stretch();
    return false;
}

void cycle_begin(uint8_t last)
{
    wait_begins(chip.window_us);
    last_byte = last;
    in_window = true;
}

/* Two reads that agree mean that the cycle is over after all, or that there was none: comparing decides. */
static uint8_t judge_at_limit(void)
{
    return chip_read_once() == chip_read_once() ? CYCLE_OVER : CYCLE_NEVER_READY;
}

/*
 * Does the chip say that it is ready, and once more when asked again? Both reads that the toggle bit takes are made in
 * one look: with the second one left to the next look, the end of a cycle would be found later.
 */
static inline bool polls_ready(void)
{
    uint8_t mask = DATA_BIT, awaited = last_byte;
    if (chip.poll == POLL_TOGGLE) {
        mask = TOGGLE_BIT;
        awaited = chip_read_once();
    }
    return ((chip_read_once() ^ awaited) & mask) == 0 && ((chip_read_once() ^ awaited) & mask) == 0;
}

/*
 * Cycles of one chip differ by little: the next one will end within a thirty-second and 40 us of this one's length.
 * One that is longer than clock_now can tell is taken for another, which does no harm; short ones are not worth it.
 */
static void remember_length(uint16_t half_us)
{
    uint16_t early = half_us / 32 + 40 * HALF_US_PER_US;
    soon_after = half_us > 500 * HALF_US_PER_US ? half_us - early : 0;
    soon_for = 2 * early;
}

static inline bool ends_soon(void)
{
    return soon_after != 0 && (uint16_t)(clock_now() - cycle_from - soon_after) < soon_for;
}

/*
 * While the end is near nothing else is done, so that it is found at once: the line may wait as long as there is room
 * for what it brings.
 */
static inline bool nothing_presses(void)
{
    return serial_backlog() < PATIENCE && !serial_is_sending();
}

uint8_t cycle_look(void)
{
    bool over = wait_is_over();
    if (in_window) {
        if (!over)
            return CYCLE_BUSY;
        in_window = false;
        wait_begins(chip.cycle_us);
        cycle_from = stretch_from;
        over = false;
    }
    if (chip.poll != POLL_LIMIT) {
        do {
            if (polls_ready()) {
                remember_length(clock_now() - cycle_from);
                return CYCLE_OVER;
            }
        } while (ends_soon() && nothing_presses());
    }
    return over ? judge_at_limit() : CYCLE_BUSY;
}

void cycle_wait_out(void)
{
    while (!wait_is_over())
        serial_send_waiting();
    wait_begins(chip.cycle_us);
    while (!wait_is_over())
        serial_send_waiting();
}
