/* What a well-formed request may ask for (firmware-protocol.md sections 4 and 5). */
#include "request-rules.h" // struct chip

#include "limits.h"       // limits, refusals
#include "request-line.h" // struct request

struct chip chip;

#define ADDRESS_MAX 0xFFFFFFul /* three registers */
#define CELLS_CHIP_MIN 0x100ul
#define CELLS_CHIP_MAX 0x1000000ul
#define CYCLE_US_MAX 0x186A0ul
#define WINDOW_US_MAX 0x3E8ul

enum control_line { CONTROL_CE = 1, CONTROL_OE = 2, CONTROL_WE = 4, CONTROL_ALL = 7 };

static const uint32_t rates[RATE_COUNT] FLASH = {RATES};

uint8_t rate_index(uint32_t baud)
{
    uint8_t index = 0;
    while (index < RATE_COUNT && flash_long(&rates[index]) != baud)
        index++;
    return index;
}

static uint8_t bad_field(uint8_t index)
{
    request.refused_field = index;
    return BAD_FIELD;
}

static bool is_power_of_two(uint32_t n)
{
    return n != 0 && (n & (n - 1)) == 0;
}

static bool is_within(uint32_t n, uint32_t min, uint32_t max)
{
    return n >= min && n <= max;
}

static uint8_t judge_chip(const uint32_t *n)
{
    if (!is_power_of_two(n[0]) || !is_within(n[0], CELLS_CHIP_MIN, CELLS_CHIP_MAX))
        return bad_field(1);
    if (n[1] != 1 && (!is_power_of_two(n[1]) || !is_within(n[1], 0x10, 0x100)))
        return bad_field(2);
    if (!is_within(n[2], 1, CYCLE_US_MAX))
        return bad_field(3);
    if (n[3] > WINDOW_US_MAX)
        return bad_field(4);
    if (n[4] > POLL_TOGGLE)
        return bad_field(5);
    return n[5] > PROTECTION_PREFIX ? bad_field(6) : GOOD;
}

static uint8_t judge_range(uint32_t address, uint32_t count)
{
    if (chip.page == 0)
        return NO_CHIP;
    return address < chip.cells && count <= chip.cells - address ? GOOD : OUT_OF_RANGE;
}

static uint8_t judge_sum(uint32_t address, uint32_t count, uint32_t page)
{
    if (page == 0)
        return bad_field(3);
    if (address % page != 0)
        return bad_field(1);
    if (count == 0 || count % page != 0)
        return bad_field(2);
    return judge_range(address, count);
}

static uint8_t judge_write(uint32_t address)
{
    uint8_t refusal = judge_range(address, request.byte_count);
    if (refusal != GOOD)
        return refusal;
    if (chip.page == 1)
        return request.byte_count <= CELLS_MAX ? GOOD : BAD_BLOCK;
    return (address & (chip.page - 1)) + request.byte_count <= chip.page ? GOOD : BAD_BLOCK;
}

static uint8_t judge_protection(void)
{
    if (chip.page == 0)
        return NO_CHIP;
    return chip.protection == PROTECTION_NONE ? NO_PROTECTION : GOOD;
}

static uint8_t judge_hold(const uint32_t *n)
{
    if (n[0] > ADDRESS_MAX)
        return bad_field(1);
    if (n[1] > CONTROL_ALL)
        return bad_field(2);
    bool writes = (n[1] & CONTROL_WE) == 0 && (n[1] & CONTROL_CE) == 0;
    bool fights = request.held == HELD_DRIVEN && (n[1] & CONTROL_OE) == 0;
    return writes || fights ? UNSAFE_HOLD : GOOD;
}

static uint8_t judge(void)
{
    const uint32_t *n = request.number;
    switch (request.word) {
    case WORD_ECHO:
        return request.byte_count <= ECHO_MAX ? GOOD : bad_field(1);
    case WORD_RATE:
        return rate_index(n[0]) < RATE_COUNT ? GOOD : BAD_RATE;
    case WORD_CHIP:
        return judge_chip(n);
    case WORD_PRESENCE:
        return judge_range(n[0], 1);
    case WORD_READ:
        return n[1] == 0 ? bad_field(2) : judge_range(n[0], n[1]);
    case WORD_SUM:
        return judge_sum(n[0], n[1], n[2]);
    case WORD_WRITE:
        return judge_write(n[0]);
    case WORD_PROTECT:
    case WORD_UNPROTECT:
        return judge_protection();
    case WORD_HOLD:
        return judge_hold(n);
    default:
        return GOOD;
    }
}

void rules_judge(void)
{
    if (request.refusal == GOOD)
        request.refusal = judge();
}

void rules_choose_chip(void)
{
    chip.cells = request.number[0];
    chip.page = (uint16_t)request.number[1];
    chip.cycle_us = request.number[2];
    chip.window_us = (uint16_t)request.number[3];
    chip.poll = (uint8_t)request.number[4];
    chip.protection = (uint8_t)request.number[5];
    chip.slot_size = chip.page == 1 ? CELLS_MAX : chip.page;
    uint16_t slots = STORE_SIZE / chip.slot_size;
    chip.slots = slots < SLOT_COUNT_MAX ? (uint8_t)slots : SLOT_COUNT_MAX;
}
