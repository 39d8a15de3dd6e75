/* The table of request words. */
#include "request-words.h" // struct word_row

const struct word_row request_words[WORD_COUNT] FLASH = {
    [WORD_WRITE] = {"write", "nb"},
    [WORD_READ] = {"read", "nn"},
    [WORD_SUM] = {"sum", "nnn"},
    [WORD_STOP] = {"stop", ""},
    [WORD_WHO] = {"who", ""},
    [WORD_ECHO] = {"echo", "b"},
    [WORD_RATE] = {"rate", "n"},
    [WORD_CHIP] = {"chip", "nnnnnn"},
    [WORD_REGISTERS] = {"registers", ""},
    [WORD_PRESENCE] = {"presence", "n"},
    [WORD_PROTECT] = {"protect", ""},
    [WORD_UNPROTECT] = {"unprotect", ""},
    [WORD_HOLD] = {"hold", "nnh"},
};

uint8_t word_of_letters(const char *letters, uint8_t count)
{
    for (uint8_t word = 0; word < WORD_COUNT; word++) {
        const char *name = request_words[word].name;
        uint8_t same = 0;
        while (same < count && flash_byte(&name[same]) == (uint8_t)letters[same])
            same++;
        if (same == count && flash_byte(&name[count]) == 0)
            return word;
    }
    return WORD_UNKNOWN;
}

uint8_t field_count(uint8_t word)
{
    uint8_t count = 0;
    while (field_kind(word, count) != FIELD_NONE)
        count++;
    return count;
}
