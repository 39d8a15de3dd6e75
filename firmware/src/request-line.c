/* From the characters of a line to a request (firmware-protocol.md section 1). */
#include "request-line.h" // struct request

#include <stddef.h> // NULL

#include "base64.h"     // base64_take
#include "check-sums.h" // crc16_next
#include "limits.h"     // LINE_MAX, refusals

struct request request;

enum part { PART_SEQ, PART_WORD, PART_FIELD };

#define CHECK_DIGITS 4
#define NUMBER_DIGITS_MAX 8
#define SLOW_CHARACTERS 4

/* The line that is being received. Zero, but for the check sequence, is a line of which nothing has come. */
static struct {
    uint8_t part;
    bool bad_form;
    uint16_t length;       /* characters so far; counted a little beyond the limit at most */
    uint16_t crc;          /* over all of them */
    uint16_t crc_at_space; /* over all before the latest space: what the check field must say */
    char letters[WORD_LETTERS_MAX];
    uint8_t field;        /* index of the field that is being received, from 0 */
    uint8_t field_kind;
    uint8_t field_length; /* its characters so far; not counted beyond NUMBER_DIGITS_MAX + 1 */
    uint8_t field_start[CHECK_DIGITS]; /* the first of them: all, if it turns out to be the check field */
    uint8_t bad_field;    /* index of the first malformed field, from 1; 0: none */
    struct base64_sink sink;
} line;

static uint8_t digit_value(uint8_t c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : 255;
}

void request_restart(void)
{
    line.part = PART_SEQ;
    line.bad_form = false;
    line.length = 0;
    line.crc = CRC16_START;
    line.field = 0;
    line.field_length = 0;
    line.bad_field = 0;
    request.ended = false;
    request.seq = 0;
    request.bytes = NULL;
    request.byte_count = 0;
}

static void field_is_bad(void)
{
    if (line.bad_field == 0)
        line.bad_field = line.field + 1;
}

static void field_begin(void)
{
    line.field_kind = field_kind(request.word, line.field);
    line.field_length = 0;
    if (line.field < FIELDS_MAX)
        request.number[line.field] = 0;
    if (line.field_kind == FIELD_BYTES) {
        line.sink.room = 0;
        line.sink.count = 0;
        line.sink.phase = 0;
        request.bytes = line.sink.to = request_room(request.word, &line.sink.room);
    }
}

static void field_end(void)
{
    if (line.field_length == 0)
        line.bad_form = true;
    if (line.field_kind == FIELD_BYTES) {
        if (!base64_whole(&line.sink))
            field_is_bad();
        request.byte_count = line.sink.count;
    }
    if (line.field_kind == FIELD_HELD && request.held == HELD_DRIVEN && line.field_length != 2)
        field_is_bad();
    line.field++;
}

static void number_take(uint8_t digit)
{
    if (digit > 15 || line.field_length >= NUMBER_DIGITS_MAX)
        field_is_bad();
    else
        request.number[line.field] = request.number[line.field] << 4 | digit;
}

/* `-` and `+` stand alone; anything else is two digits. */
static void held_take(uint8_t c)
{
    if (line.field_length == 0)
        request.held = c == '-' ? HELD_RELEASED : c == '+' ? HELD_PULLED : HELD_DRIVEN;
    if (request.held == HELD_DRIVEN)
        number_take(digit_value(c));
    else if (line.field_length != 0)
        field_is_bad();
}

static void bytes_take(uint8_t c)
{
    uint8_t sextet = base64_value(c);
    bool fits = c == '=' ? base64_pad(&line.sink) : sextet != BASE64_NO_LETTER && base64_take(&line.sink, sextet);
    if (!fits)
        field_is_bad();
}

static void field_take(uint8_t c)
{
    if (line.field_length < CHECK_DIGITS)
        line.field_start[line.field_length] = c;
    if (line.field_kind == FIELD_NUMBER)
        number_take(digit_value(c));
    else if (line.field_kind == FIELD_BYTES)
        bytes_take(c);
    else if (line.field_kind == FIELD_HELD)
        held_take(c);
    if (line.field_length <= NUMBER_DIGITS_MAX)
        line.field_length++;
}

static void seq_take(uint8_t c)
{
    uint8_t digit = digit_value(c);
    if (digit > 15 || line.field_length >= 2)
        line.bad_form = true;
    else
        request.seq = (uint8_t)(request.seq << 4) | digit;
    line.field_length++;
}

static void word_take(uint8_t c)
{
    if (c < 'a' || c > 'z' || line.field_length >= WORD_LETTERS_MAX)
        line.bad_form = true;
    else
        line.letters[line.field_length++] = (char)c;
}

static void space_take(void)
{
    switch (line.part) {
    case PART_SEQ:
        if (line.field_length != 2)
            line.bad_form = true;
        line.part = PART_WORD;
        line.field_length = 0;
        return;
    case PART_WORD:
        if (line.field_length == 0)
            line.bad_form = true;
        request.word = word_of_letters(line.letters, line.field_length);
        line.part = PART_FIELD;
        break;
    default:
        field_end();
        break;
    }
    field_begin();
}

/* The first field that is malformed, missing or surplus, from 1; 0: none. The last field received is the check. */
static uint8_t first_bad_field(void)
{
    uint8_t given = line.field, demanded = field_count(request.word);
    if (line.bad_field != 0 && line.bad_field <= given && line.bad_field <= demanded)
        return line.bad_field;
    if (given == demanded)
        return 0;
    return (given < demanded ? given : demanded) + 1;
}

/* Does the last field say what the check sequence of the line must be? */
static bool check_fits(void)
{
    request.check = 0;
    if (line.part != PART_FIELD || line.field_length != CHECK_DIGITS)
        return false;
    for (uint8_t i = 0; i < CHECK_DIGITS; i++) {
        uint8_t digit = digit_value(line.field_start[i]);
        if (digit > 15)
            return false;
        request.check = (uint16_t)(request.check << 4) | digit;
    }
    return request.check == line.crc_at_space;
}

static uint8_t line_judge(void)
{
    if (line.length >= LINE_MAX)
        return TOO_LONG;
    if (line.bad_form || !check_fits() || request.seq == 0)
        return BAD_LINE;
    if (request.word == WORD_UNKNOWN)
        return UNKNOWN_WORD;
    request.refused_field = first_bad_field();
    return request.refused_field == 0 ? GOOD : BAD_FIELD;
}

static void line_end(void)
{
    request.refusal = line_judge();
    if (request.refusal == BAD_LINE || request.refusal == TOO_LONG)
        request.seq = 0;
    request.ended = true;
}

static void character_take(uint8_t c)
{
    uint16_t crc = line.crc;
    line.crc = crc16_next(crc, c);
    if (c == ' ') {
        line.crc_at_space = crc;
        space_take();
    } else if (c < '!' || c > '~') {
        line.bad_form = true;
    } else if (line.part == PART_FIELD) {
        field_take(c);
    } else if (line.part == PART_WORD) {
        word_take(c);
    } else {
        seq_take(c);
    }
}

/* Whole groups of four letters may follow. */
static bool is_between_groups(void)
{
    return line.part == PART_FIELD && line.field_kind == FIELD_BYTES && line.sink.phase == 0;
}

static bool is_in_number(void)
{
    return line.part == PART_FIELD && line.field_kind == FIELD_NUMBER;
}

/* At least one, and only a few, because each takes about 120 cycles; up to the end of the line or to where the faster ones go on. */
static __attribute__((noinline)) uint8_t characters_take(const uint8_t *characters, uint8_t count)
{
    uint8_t taken = 0;
    do {
        uint8_t c = characters[taken];
        if (c == '\n') {
            line.length += taken;
            if (line.length != 0)
                line_end();
            return taken + 1;
        }
        character_take(c);
        taken++;
    } while (taken < count && taken < SLOW_CHARACTERS && !is_between_groups() && !is_in_number());
    line.length += taken;
    return taken;
}

/*
 * The hot path: whole groups of four letters of a base64 field, as far as there is room for their bytes. At 1 000 000
 * baud a character comes every 160 cycles, and the receive interrupt takes a fifth of them.
 */
static __attribute__((noinline)) uint8_t groups_take(const uint8_t *characters, uint8_t count)
{
    const uint8_t *from = characters;
    uint16_t crc = line.crc;
    uint8_t *to = line.sink.to;
    uint16_t room = line.sink.room;
    uint8_t stored = 0;
    for (; count >= 4 && room >= 3; count -= 4, room -= 3, stored += 3) {
        uint8_t c, first, second, third, fourth;
        uint16_t ahead = crc;
        first = base64_value(c = *from++);
        ahead = crc16_next(ahead, c);
        second = base64_value(c = *from++);
        ahead = crc16_next(ahead, c);
        third = base64_value(c = *from++);
        ahead = crc16_next(ahead, c);
        fourth = base64_value(c = *from++);
        ahead = crc16_next(ahead, c);
        if ((first | second | third | fourth) > 63) {
            from -= 4;
            break;
        }
        crc = ahead;
        *to++ = (uint8_t)(first << 2) | second >> 4;
        *to++ = (uint8_t)(second << 4) | third >> 2;
        *to++ = (uint8_t)(third << 6) | fourth;
    }
    if (stored == 0)
        return 0;
    if (line.field_length == 0 && stored == 3) {
        /* One group alone may be the check field. */
        for (uint8_t i = 0; i < CHECK_DIGITS; i++)
            line.field_start[i] = characters[i];
        line.field_length = CHECK_DIGITS;
    } else {
        line.field_length = CHECK_DIGITS + 1;
    }
    line.crc = crc;
    line.sink.to = to;
    line.sink.room = room;
    line.sink.count += stored;
    uint8_t taken = (uint8_t)(from - characters);
    line.length += taken;
    return taken;
}

/* Digits of a number field, in registers: shifting 32 bits in memory would cost as much as everything else. */
static __attribute__((noinline)) uint8_t digits_take(const uint8_t *characters, uint8_t count)
{
    uint32_t number = request.number[line.field];
    uint16_t crc = line.crc;
    uint8_t taken = 0, length = line.field_length;
    while (taken < count && length < NUMBER_DIGITS_MAX) {
        uint8_t c = characters[taken], digit = digit_value(c);
        if (digit > 15)
            break;
        number = number << 4 | digit;
        crc = crc16_next(crc, c);
        if (length < CHECK_DIGITS)
            line.field_start[length] = c;
        length++;
        taken++;
    }
    request.number[line.field] = number;
    line.crc = crc;
    line.field_length = length;
    line.length += taken;
    return taken;
}

/* Of an over-long line only the end matters. */
static uint8_t skip_to_end(const uint8_t *characters, uint8_t count)
{
    uint8_t taken = 0;
    while (taken < count) {
        if (characters[taken++] == '\n') {
            line_end();
            break;
        }
    }
    return taken;
}

uint8_t request_take(const uint8_t *characters, uint8_t count)
{
    uint8_t taken = 0;
    if (request.ended)
        request_restart();
    if (line.length >= LINE_MAX)
        return skip_to_end(characters, count);
    if (is_between_groups())
        taken = groups_take(characters, count);
    else if (is_in_number())
        taken = digits_take(characters, count);
    return taken != 0 ? taken : characters_take(characters, count);
}
