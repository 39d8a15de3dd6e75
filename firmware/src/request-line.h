/* From the characters of a line to a request. Characters are taken as they come; no line is ever kept whole. */
#ifndef REQUEST_LINE_H
#define REQUEST_LINE_H

#include <stdbool.h> // bool
#include <stdint.h>  // uint8_t

#include "request-words.h" // FIELDS_MAX

/* A character that no line may hold: the receiver puts it in place of what came damaged or was lost. */
#define DAMAGED 0

enum held { HELD_DRIVEN, HELD_RELEASED, HELD_PULLED };

/* The request that a line held. Valid from the call of request_take that returns with `ended` set until the next one. */
struct request {
    bool ended;            /* a line has ended and waits to be acted on */
    uint8_t refusal;       /* GOOD, or why not (limits.h) */
    uint8_t refused_field; /* of BAD_FIELD: its index, from 1 */
    uint8_t seq;           /* 0 where the number cannot be trusted */
    uint8_t word;
    uint8_t held;              /* of `hold`: what happens to the data lines; a driven byte is the last number */
    uint16_t check;            /* the line's check sequence */
    uint32_t number[FIELDS_MAX]; /* number fields, by field index */
    uint8_t *bytes;            /* where the bytes of a base64 field were put; NULL: nowhere */
    uint16_t byte_count;       /* how many there were, stored or not */
};

extern struct request request;

/*
 * Takes characters, at least one and none behind the next LF; returns how many. Takes them fastest where whole groups
 * of four letters come together. When the line ended, `request.ended` is set and
 * `request` tells what it was. An empty line sets nothing.
 */
uint8_t request_take(const uint8_t *characters, uint8_t count);

/* Forgets a line that was begun. */
void request_restart(void);

/* Where the base64 field of this word may be put, and how much; NULL: nowhere. Supplied by whoever owns the store. */
uint8_t *request_room(uint8_t word, uint16_t *room);

#endif
