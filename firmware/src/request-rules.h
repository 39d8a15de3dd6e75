/* What a well-formed request may ask for: ranges, the chosen chip, and the refusals that follow from them. */
#ifndef REQUEST_RULES_H
#define REQUEST_RULES_H

#include <stdbool.h> // bool
#include <stdint.h>  // uint32_t

enum poll { POLL_LIMIT, POLL_DATA, POLL_TOGGLE };
enum protection { PROTECTION_NONE, PROTECTION_CODES, PROTECTION_PREFIX };

/* The chosen chip. `page` 0: none is chosen; 1: it is written cell by cell. */
struct chip {
    uint32_t cells;
    uint32_t cycle_us;
    uint16_t page;
    uint16_t window_us;
    uint8_t poll;
    uint8_t protection;
    uint8_t slots;      /* how many blocks may be outstanding */
    uint16_t slot_size; /* bytes that a slot of the block store holds: a page, or the cells of one block */
};

extern struct chip chip;

/* Refuses (sets request.refusal of) what the fields or the chosen chip forbid. Knows nothing of work under way. */
void rules_judge(void);

/* Takes a good `chip` request as the chosen chip. */
void rules_choose_chip(void);

/* The index of a rate in RATES, or RATE_COUNT. */
uint8_t rate_index(uint32_t baud);

#endif
