/* Acting on requests (firmware-protocol.md sections 2 to 4). */
#include "request-work.h" // request_work_step

#include <stdbool.h> // bool
#include <stddef.h>  // NULL

#include "../answer-line.h"    // answer_ok
#include "../limits.h"         // refusals
#include "../request-line.h"   // request_take
#include "../request-rules.h"  // rules_judge
#include "address-registers.h" // address_count_registers
#include "bench-checks.h"      // presence_mask
#include "block-queue.h"       // block_take
#include "block-work.h"        // block_work_running
#include "boot.h"              // boot_nonce
#include "cell-stream.h"       // stream_begin
#include "chip-bus.h"          // chip_select
#include "clock.h"             // SLOW_TICKS
#include "protection.h"        // protection_load_prefix
#include "serial.h"            // serial_received
#include "write-cycle.h"       // cycle_wait_out

/*
 * Characters taken between two looks at the chip: few, so that the end of a write cycle is not found late. When more
 * than BACKLOG_MAX wait, the line comes first.
 */
#define CHARACTERS_A_STEP 4
#define BACKLOG_MAX 48

static bool holding;
static bool rate_on_trial;
static uint8_t quiet_ticks; /* since the last good line or the last work */

static bool at_work(void)
{
    return blocks_outstanding() || stream_running;
}

void rate_watch(void)
{
    if (serial_rate() == 0)
        return;
    if (at_work())
        quiet_ticks = 0;
    else if (++quiet_ticks >= (rate_on_trial ? SLOW_TICKS(500) : SLOW_TICKS(3000)))
        serial_set_rate(0);
}

static void change_rate(void)
{
    answer_ok(request.seq);
    serial_set_rate(rate_index(request.number[0]));
    rate_on_trial = true;
    quiet_ticks = 0;
}

static void answer_with_number(uint32_t value)
{
    answer_begin(request.seq, FLASH_TEXT("ok"));
    answer_number(value);
    answer_end();
}

static void echo(void)
{
    answer_begin(request.seq, FLASH_TEXT("ok"));
    answer_bytes_begin();
    for (uint16_t i = 0; i < request.byte_count; i++)
        answer_byte(request.bytes[i]);
    answer_bytes_end();
    answer_end();
}

static void look_for_chip(void)
{
    uint8_t mask = presence_mask(request.number[0]);
    if (mask != 0xFF) {
        answer_with_number(mask);
        return;
    }
    answer_begin(request.seq, FLASH_TEXT("no"));
    answer_number(NOT_DRIVEN);
    answer_number(mask);
    answer_end();
}

static void switch_protection(void)
{
    lamp_on();
    chip_select();
    if (request.word == WORD_PROTECT)
        protection_load_prefix();
    else
        protection_load_release();
    cycle_begin(0);
    chip_deselect();
    cycle_wait_out();
    lamp_off();
    answer_ok(request.seq);
}

static void stop(void)
{
    if (stream_running)
        stream_stop();
    blocks_stop(block_work_running());
    answer_ok(request.seq);
}

/* Whoever asks for anything else has all answers; a number that comes round again must find no old block then. */
static bool leaves_blocks(void)
{
    switch (request.word) {
    case WORD_WRITE:
    case WORD_PROTECT:
    case WORD_UNPROTECT:
    case WORD_WHO:
    case WORD_STOP:
        return true;
    }
    return false;
}

static void carry_out(void)
{
    if (!leaves_blocks())
        blocks_forget();
    switch (request.word) {
    case WORD_WRITE:
        block_take();
        return;
    case WORD_READ:
    case WORD_SUM:
        stream_begin();
        return;
    case WORD_STOP:
        stop();
        return;
    case WORD_WHO:
        answer_writer(request.seq, boot_nonce());
        return;
    case WORD_ECHO:
        echo();
        return;
    case WORD_RATE:
        change_rate();
        return;
    case WORD_CHIP:
        rules_choose_chip();
        answer_ok(request.seq);
        return;
    case WORD_REGISTERS:
        answer_with_number(address_count_registers());
        return;
    case WORD_PRESENCE:
        look_for_chip();
        return;
    case WORD_PROTECT:
    case WORD_UNPROTECT:
        switch_protection();
        return;
    case WORD_HOLD:
        holding = true;
        answer_with_number(hold_lines());
        return;
    }
}

/* What work under way forbids (firmware-protocol.md section 3). */
static bool is_busy(void)
{
    if (request.word == WORD_STOP)
        return false;
    if (stream_running)
        return true;
    if (request.word == WORD_WRITE || request.word == WORD_WHO)
        return false;
    /* An echo that came while blocks were outstanding found no room, even if they are done by now. */
    return blocks_outstanding() || (request.word == WORD_ECHO && request.bytes == NULL);
}

static void act(void)
{
    block_answer();
    if (request.seq != 0) {
        rate_on_trial = false;
        quiet_ticks = 0;
        if (holding)
            park_lines();
        holding = false;
    }
    if (request.refusal == GOOD) {
        if (is_busy())
            request.refusal = BUSY;
        else if (request.word == WORD_WRITE && block_is_repeated())
            return;
    }
    rules_judge();
    if (request.refusal == GOOD)
        carry_out();
    else
        answer_refused_request();
}

void request_work_step(void)
{
    do {
        const uint8_t *characters;
        uint8_t limit = serial_backlog() > BACKLOG_MAX ? BACKLOG_MAX : CHARACTERS_A_STEP;
        uint8_t count = serial_received(&characters, limit);
        serial_received_taken(request_take(characters, count));
        if (request.ended) {
            act();
            return;
        }
    } while (serial_backlog() > BACKLOG_MAX);
}

void send_greeting(void)
{
    answer_writer(0, boot_nonce());
}
