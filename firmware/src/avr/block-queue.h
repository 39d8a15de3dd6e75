/* The blocks of `write`: taken while the chip is busy, carried out in order, remembered after they are answered. */
#ifndef BLOCK_QUEUE_H
#define BLOCK_QUEUE_H

#include <stdbool.h> // bool
#include <stdint.h>  // uint8_t

/* A block that waits, or how one ended. */
struct block {
    uint16_t check;
    uint8_t seq;
    uint8_t outcome; /* BLOCK_FREE, BLOCK_WAITING, GOOD or a refusal */
    uint32_t address; /* its first cell; with MISMATCH and NEVER_READY the cell in question */
    union {
        struct {
            uint8_t slot;
            uint8_t last; /* bytes - 1 */
        } waiting;
        struct {
            uint8_t wanted, actual;
        } mismatch;
    } more;
};

enum { BLOCK_FREE = 0xFF, BLOCK_WAITING = 0xFE };

/* Takes the good `write` request that was just judged, or answers why not. */
void block_take(void);
/* Answers a line that is known already, or lets it go where its answer is still to come; false: it is new. */
bool block_is_repeated(void);
/* Are any blocks not answered? */
bool blocks_outstanding(void);
/* Drops the blocks that have not begun and says so. `running`: one has. */
void blocks_stop(bool running);
/* Forgets everything: another chip was chosen. */
void blocks_forget(void);

/* The oldest block that is not answered, or NULL; where its bytes are; and its end. */
struct block *block_first(void);
const uint8_t *block_bytes(const struct block *block);
/*
 * The first block ended so; the address and bytes of a refusal are in it already. Its answer stays due, so that the
 * next block can be loaded in front of it.
 */
void block_end(uint8_t outcome);
/* The block whose answer is due, or NULL; and sending it. */
extern const struct block *block_unanswered;
void block_answer(void);

#endif
