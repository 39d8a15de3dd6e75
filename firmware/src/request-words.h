/* The words of the requests and the kinds of their fields (firmware-protocol.md section 4). */
#ifndef REQUEST_WORDS_H
#define REQUEST_WORDS_H

#include <stdint.h> // uint8_t

#include "flash.h" // FLASH

#define WORD_LETTERS_MAX 12
#define FIELDS_MAX 6

/* The order is that of the table in request-words.c; `write` first because it is looked up most. */
enum word {
    WORD_WRITE,
    WORD_READ,
    WORD_SUM,
    WORD_STOP,
    WORD_WHO,
    WORD_ECHO,
    WORD_RATE,
    WORD_CHIP,
    WORD_REGISTERS,
    WORD_PRESENCE,
    WORD_PROTECT,
    WORD_UNPROTECT,
    WORD_HOLD,
    WORD_COUNT,
    WORD_UNKNOWN = WORD_COUNT
};

/* Kinds of fields: a number, bytes in base64, or what `hold` does to the data lines. */
enum field_kind { FIELD_NONE = 0, FIELD_NUMBER = 'n', FIELD_BYTES = 'b', FIELD_HELD = 'h' };

struct word_row {
    char name[WORD_LETTERS_MAX + 1];
    char kinds[FIELDS_MAX + 1];
};

extern const struct word_row request_words[WORD_COUNT] FLASH;

/* The word with these letters, or WORD_UNKNOWN. */
uint8_t word_of_letters(const char *letters, uint8_t count);

/* What field `index` (from 0) of the word is; FIELD_NONE beyond its last. */
static inline uint8_t field_kind(uint8_t word, uint8_t index)
{
    return word < WORD_COUNT && index < FIELDS_MAX ? flash_byte(&request_words[word].kinds[index]) : FIELD_NONE;
}

/* How many fields the word has. */
uint8_t field_count(uint8_t word);

#endif
