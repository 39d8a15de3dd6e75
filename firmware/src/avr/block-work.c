/*
 * Carrying out blocks. With pages a block is one run of bytes: load, wait, compare. Cell by cell every cell is a run
 * of its own, and one that holds its byte already costs no write cycle.
 */
#include "block-work.h" // block_work_step

#include <stddef.h> // NULL

#include "../limits.h"        // refusals
#include "../request-rules.h" // chip
#include "block-queue.h"      // block_first
#include "chip-bus.h"         // chip_select
#include "page-transfer.h"    // page_load
#include "protection.h"       // protection_load_prefix
#include "write-cycle.h"      // cycle_look

static struct block *block; /* the one at work, or NULL */
static const uint8_t *bytes;
static uint32_t address;   /* of the run at work */
static uint16_t left;      /* bytes of the block from that run on */
static bool in_cycle;

static uint16_t run_length(void)
{
    return chip.page == 1 ? 1 : left;
}

bool block_work_running(void)
{
    return block != NULL;
}

static void end(uint8_t outcome)
{
    chip_deselect();
    block = NULL;
    block_end(outcome);
    if (!blocks_outstanding())
        lamp_off();
}

static void begin(void)
{
    block = block_first();
    bytes = block_bytes(block);
    address = block->address;
    left = (uint16_t)block->more.waiting.last + 1;
    in_cycle = false;
    lamp_on();
    chip_select();
}

static void load_run(void)
{
    uint16_t length = run_length();
    if (chip.protection == PROTECTION_PREFIX)
        protection_load_prefix();
    page_load(address, bytes, (run_count)length);
    cycle_begin(bytes[length - 1]);
    in_cycle = true;
}

static void next_run(void)
{
    uint16_t length = run_length();
    in_cycle = false;
    address += length;
    bytes += length;
    left -= length;
    if (left == 0)
        end(GOOD);
}

static void begin_run(void)
{
    struct difference difference;
    if (chip.page == 1 && page_compare(address, bytes, 1, &difference))
        next_run();
    else
        load_run();
}

static void compare_run(void)
{
    struct difference difference;
    if (page_compare(address, bytes, (run_count)run_length(), &difference)) {
        next_run();
        return;
    }
    block->address = address + difference.offset;
    block->more.mismatch.wanted = difference.wanted;
    block->more.mismatch.actual = difference.actual;
    end(MISMATCH);
}

void block_work_step(void)
{
    if (block == NULL) {
        if (blocks_outstanding())
            begin();
    } else if (!in_cycle) {
        begin_run();
    } else {
        uint8_t state = cycle_look();
        if (state == CYCLE_OVER) {
            compare_run();
        } else if (state == CYCLE_NEVER_READY) {
            block->address = address + run_length() - 1;
            end(NEVER_READY);
        }
    }
}
