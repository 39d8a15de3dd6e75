/* Base64 with padding, one spelling only (RFC 4648 section 4; firmware-protocol.md section 1). */
#ifndef BASE64_H
#define BASE64_H

#include <stdbool.h> // bool
#include <stdint.h>  // uint8_t

#include "flash.h" // flash_byte

#define BASE64_NO_LETTER 255

extern const uint8_t base64_letters[64] FLASH;
extern const uint8_t base64_values[256] FLASH;

/* The six bits of a letter, or BASE64_NO_LETTER. */
static inline uint8_t base64_value(uint8_t letter)
{
    return flash_byte(&base64_values[letter]);
}

static inline uint8_t base64_letter(uint8_t sextet)
{
    return flash_byte(&base64_letters[sextet & 63]);
}

/* Letters in, bytes out. Bytes beyond the room are counted but not stored. */
struct base64_sink {
    uint8_t *to;
    uint16_t room;  /* bytes that may still be stored */
    uint16_t count; /* bytes decoded so far, stored or not */
    uint8_t phase;  /* letters of the group so far; or one of the two below */
    uint8_t carry;  /* bits that wait for the next letter, at the top of the byte */
};

enum { BASE64_ONE_MORE_PAD = 4, BASE64_PADDED = 5 };

static inline void base64_store(struct base64_sink *sink, uint8_t byte)
{
    sink->count++;
    if (sink->room != 0) {
        sink->room--;
        *sink->to++ = byte;
    }
}

/* Takes the six bits of one letter; false where no letter may stand (after padding). */
static inline bool base64_take(struct base64_sink *sink, uint8_t sextet)
{
    switch (sink->phase) {
    case 0:
        sink->carry = (uint8_t)(sextet << 2);
        sink->phase = 1;
        return true;
    case 1:
        base64_store(sink, sink->carry | (sextet >> 4));
        sink->carry = (uint8_t)(sextet << 4);
        sink->phase = 2;
        return true;
    case 2:
        base64_store(sink, sink->carry | (sextet >> 2));
        sink->carry = (uint8_t)(sextet << 6);
        sink->phase = 3;
        return true;
    case 3:
        base64_store(sink, sink->carry | sextet);
        sink->phase = 0;
        return true;
    default:
        return false;
    }
}

/* Takes one '='; false where none may stand or the bits under it are not zero. */
static inline bool base64_pad(struct base64_sink *sink)
{
    if (sink->phase == BASE64_ONE_MORE_PAD) {
        sink->phase = BASE64_PADDED;
        return true;
    }
    if ((sink->phase != 2 && sink->phase != 3) || sink->carry != 0)
        return false;
    sink->phase = sink->phase == 2 ? BASE64_ONE_MORE_PAD : BASE64_PADDED;
    return true;
}

static inline bool base64_whole(const struct base64_sink *sink)
{
    return sink->phase == 0 || sink->phase == BASE64_PADDED;
}

#endif
