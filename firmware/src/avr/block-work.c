/*
 * Carrying out blocks. With pages a block is one run of bytes: load, wait, compare. Cell by cell every cell is a run
 * of its own, and one that holds its byte already costs no write cycle.
 */
#include "block-work.h" // block_work_step

#include <stddef.h> // NULL

#include "../limits.h"         // refusals
#include "../request-rules.h"  // chip
#include "address-registers.h" // address_set
#include "block-queue.h"       // block_first
#include "chip-bus.h"          // chip_select
#include "page-transfer.h"     // page_load
#include "protection.h"        // protection_load_prefix
#include "write-cycle.h"       // cycle_look

static struct block *block; /* the one at work, or NULL */
static const uint8_t *bytes;
static uint32_t address;    /* of the run at work */
static uint16_t left;       /* bytes of the block from that run on */
static bool cell_by_cell;
static bool in_cycle;

bool block_work_running(void)
{
    return block != NULL;
}

static void begin(void)
{
    bytes = block_bytes(block);
    address = block->address;
    left = (uint16_t)block->more.waiting.last + 1;
    cell_by_cell = chip.page == 1;
    in_cycle = false;
    lamp_on();
    chip_select();
}

static void end(uint8_t outcome)
{
    chip_deselect();
    block = NULL;
    in_cycle = false;
    block_end(outcome);
}

static void end_with_mismatch(const struct difference *difference)
{
    block->address = address + difference->offset;
    block->more.mismatch.wanted = difference->wanted;
    block->more.mismatch.actual = difference->actual;
    end(MISMATCH);
}

static void load_page(void)
{
    if (chip.protection == PROTECTION_PREFIX)
        protection_load_prefix();
    page_load(address, bytes, (run_count)left);
    cycle_begin(bytes[left - 1]);
    in_cycle = true;
}

static void compare_page(void)
{
    struct difference difference;
    if (page_compare(address, bytes, (run_count)left, &difference))
        end(GOOD);
    else
        end_with_mismatch(&difference);
}

static void next_cell(void)
{
    in_cycle = false;
    address++;
    bytes++;
    if (--left == 0)
        end(GOOD);
}

static void load_cell(void)
{
    address_set(address);
    if (chip_read_once() == *bytes) {
        next_cell();
        return;
    }
    if (chip.protection == PROTECTION_PREFIX) {
        protection_load_prefix();
        address_set(address);
    }
    cell_load(*bytes);
    cycle_begin(*bytes);
    in_cycle = true;
}

/* The cell's address is still on the lines. */
static void compare_cell(void)
{
    struct difference difference = {.offset = 0, .wanted = *bytes, .actual = chip_read_once()};
    if (difference.actual == difference.wanted)
        next_cell();
    else
        end_with_mismatch(&difference);
}

static void end_of_cycle(uint8_t state)
{
    if (state == CYCLE_NEVER_READY) {
        block->address = address + (cell_by_cell ? 0 : left - 1);
        end(NEVER_READY);
    } else if (cell_by_cell) {
        compare_cell();
    } else {
        compare_page();
    }
}

void block_work_step(void)
{
    if (in_cycle) {
        /* The answer of the block before leaves when the next one is loaded: the chip's load window hides it. */
        if (block_unanswered != NULL)
            block_answer();
        uint8_t state = cycle_look();
        if (state == CYCLE_BUSY)
            return;
        end_of_cycle(state);
    }
    if (block == NULL) {
        block = block_first();
        if (block == NULL) {
            if (block_unanswered != NULL) {
                block_answer();
                lamp_off();
            }
            return;
        }
        begin();
    }
    if (cell_by_cell)
        load_cell();
    else
        load_page();
}
