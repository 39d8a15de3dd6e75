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

/* The line that is being received. Zero, but for the check sequence, is a line of which nothing has come. */
static struct {
    uint8_t part;
    bool bad_form;
    uint16_t length;       /* characters so far */
    uint16_t crc;          /* over all of them */
    uint16_t crc_at_space; /* over all before the latest space: what the check field must say */
    char letters[WORD_LETTERS_MAX];
    uint8_t field;        /* index of the field that is being received, from 0 */
    uint8_t field_kind;
    uint8_t field_length; /* its characters so far; stays at CHECK_DIGITS + 1 */
    uint16_t last_digits; /* its value, if it turns out to be the check field */
    bool all_digits;
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
    line.last_digits = 0;
    line.all_digits = true;
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
    uint8_t digit = digit_value(c);
    if (digit > 15)
        line.all_digits = false;
    line.last_digits = (uint16_t)(line.last_digits << 4) | digit;
    if (line.field_kind == FIELD_NUMBER)
        number_take(digit);
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

static uint8_t line_judge(void)
{
    if (line.length >= LINE_MAX)
        return TOO_LONG;
    if (line.bad_form || line.part != PART_FIELD || line.field_length != CHECK_DIGITS || !line.all_digits ||
        line.last_digits != line.crc_at_space || request.seq == 0)
        return BAD_LINE;
    if (request.word == WORD_UNKNOWN)
        return UNKNOWN_WORD;
    request.refused_field = first_bad_field();
    return request.refused_field == 0 ? GOOD : BAD_FIELD;
}

static void line_end(void)
{
    request.refusal = line_judge();
    request.check = line.last_digits;
    if (request.refusal == BAD_LINE || request.refusal == TOO_LONG)
        request.seq = 0;
    request.ended = true;
}

static void character_take(uint8_t c)
{
    /* An over-long line is only counted up to the limit, so that the count never wraps. */
    if (line.length >= LINE_MAX)
        return;
    line.length++;
    if (c == ' ')
        line.crc_at_space = line.crc;
    line.crc = crc16_next(line.crc, c);
    if (c == ' ')
        space_take();
    else if (c < '!' || c > '~')
        line.bad_form = true;
    else if (line.part == PART_FIELD)
        field_take(c);
    else if (line.part == PART_WORD)
        word_take(c);
    else
        seq_take(c);
}

/*
 * The hot path: letters of a base64 field that is already too long to be the check field. Everything is kept in
 * registers; at 1 000 000 baud a character comes every 160 cycles.
 */
static uint8_t letters_take(const uint8_t *characters, uint8_t count)
{
    struct base64_sink sink = line.sink;
    uint16_t crc = line.crc;
    uint8_t taken = 0;
    while (taken < count) {
        uint8_t c = characters[taken];
        uint8_t sextet = base64_value(c);
        if (sextet == BASE64_NO_LETTER || !base64_take(&sink, sextet))
            break;
        crc = crc16_next(crc, c);
        taken++;
    }
    line.sink = sink;
    line.crc = crc;
    line.length += taken;
    return taken;
}

static bool in_long_bytes(uint8_t count)
{
    /* So far below the limit that these characters cannot pass it. */
    return line.part == PART_FIELD && line.field_kind == FIELD_BYTES && line.field_length > CHECK_DIGITS &&
           line.length + count < LINE_MAX;
}

uint8_t request_take(const uint8_t *characters, uint8_t count)
{
    uint8_t taken = 0;
    if (request.ended)
        request_restart();
    while (taken < count) {
        if (in_long_bytes(count - taken))
            taken += letters_take(&characters[taken], count - taken);
        if (taken == count)
            break;
        uint8_t c = characters[taken++];
        if (c != '\n') {
            character_take(c);
        } else if (line.length != 0) {
            line_end();
            break;
        }
    }
    return taken;
}
