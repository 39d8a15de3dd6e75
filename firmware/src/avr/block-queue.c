/* The blocks of `write` (firmware-protocol.md section 3). */
#include "block-queue.h" // struct block

#include <stddef.h> // NULL

#include "../answer-line.h"   // answer_begin
#include "../limits.h"        // SLOT_COUNT_MAX
#include "../request-line.h"  // request
#include "../request-rules.h" // slot_size

/* As many as may wait, and as many as are remembered: a ring, oldest first. */
#define RING_SIZE 32
#if RING_SIZE < SLOT_COUNT_MAX + REMEMBERED_BLOCKS
#error "the ring is too small for what waits and what is remembered"
#endif
static struct block ring[RING_SIZE];
static struct block *first;      /* the oldest that is not answered, when there is one */
static struct block *free_place; /* where the next one goes */
static uint8_t waiting_count; /* not answered, the one at work included */
static uint8_t free_slot;
const struct block *block_unanswered;

/* Slots of the chosen chip's size, used in turn. While no block waits it is the room for an echo. */
static uint8_t store[STORE_SIZE];

static struct block *place_after(struct block *place)
{
    return place + 1 < &ring[RING_SIZE] ? place + 1 : ring;
}

static uint8_t *slot_bytes(uint8_t slot)
{
    return &store[slot * chip.slot_size];
}

static bool is_full(void)
{
    return waiting_count >= chip.slots || (waiting_count != 0 && place_after(free_place) == first);
}

uint8_t *request_room(uint8_t word, uint16_t *room)
{
    if (word == WORD_ECHO && waiting_count == 0) {
        *room = ECHO_MAX;
        return store;
    }
    if (word != WORD_WRITE || is_full()) {
        *room = 0;
        return NULL;
    }
    *room = chip.slot_size;
    return slot_bytes(free_slot);
}

static void answer_block(const struct block *block)
{
    if (block->outcome == GOOD) {
        answer_ok(block->seq);
        return;
    }
    answer_begin(block->seq, FLASH_TEXT("no"));
    answer_number(block->outcome);
    if (block->outcome == MISMATCH || block->outcome == NEVER_READY)
        answer_number(block->address);
    if (block->outcome == MISMATCH) {
        answer_digits(block->more.mismatch.wanted, 2);
        answer_digits(block->more.mismatch.actual, 2);
    }
    answer_end();
}

bool block_is_repeated(void)
{
    uint8_t seq = request.seq;
    for (const struct block *block = ring; block < &ring[RING_SIZE]; block++) {
        if (block->seq != seq || block->check != request.check || block->outcome == BLOCK_FREE)
            continue;
        if (block->outcome != BLOCK_WAITING)
            answer_block(block);
        return true;
    }
    return false;
}

void block_take(void)
{
    /* No room when the line came: full, even if a place has become free since. */
    if (request.bytes == NULL) {
        answer_refusal(request.seq, WINDOW_FULL);
        return;
    }
    if (waiting_count == 0)
        first = free_place;
    struct block *block = free_place;
    block->seq = request.seq;
    block->check = request.check;
    block->outcome = BLOCK_WAITING;
    block->address = request.number[0];
    block->more.waiting.slot = free_slot;
    block->more.waiting.last = (uint8_t)(request.byte_count - 1);
    free_place = place_after(free_place);
    free_slot = free_slot + 1 < chip.slots ? free_slot + 1 : 0;
    waiting_count++;
}

bool blocks_outstanding(void)
{
    return waiting_count != 0 || block_unanswered != NULL;
}

struct block *block_first(void)
{
    return waiting_count == 0 ? NULL : first;
}

const uint8_t *block_bytes(const struct block *block)
{
    return slot_bytes(block->more.waiting.slot);
}

void block_answer(void)
{
    const struct block *block = block_unanswered;
    block_unanswered = NULL;
    if (block != NULL)
        answer_block(block);
}

void block_end(uint8_t outcome)
{
    block_answer();
    block_unanswered = first;
    first->outcome = outcome;
    waiting_count--;
    /* Blocks behind it may have been dropped by `stop`. */
    while (waiting_count != 0 && first->outcome != BLOCK_WAITING)
        first = place_after(first);
}

void blocks_stop(bool running)
{
    uint8_t kept = running ? 1 : 0;
    struct block *block = running ? place_after(first) : first;
    if (waiting_count <= kept)
        return;
    for (; waiting_count > kept; block = place_after(block)) {
        if (block->outcome != BLOCK_WAITING)
            continue;
        block->outcome = STOPPED;
        waiting_count--;
        answer_block(block);
    }
    /* The dropped ones' slots are free again, behind the one at work. */
    free_slot = running && first->more.waiting.slot + 1 < chip.slots ? first->more.waiting.slot + 1 : 0;
}

void blocks_forget(void)
{
    for (uint8_t i = 0; i < RING_SIZE; i++)
        ring[i].outcome = BLOCK_FREE;
    first = free_place = ring;
    free_slot = 0;
}
