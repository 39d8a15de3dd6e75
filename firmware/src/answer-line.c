/* From an answer to the characters of its line. */
#include "answer-line.h" // answer_begin

#include "base64.h"       // base64_letter
#include "check-sums.h"   // crc16_next
#include "limits.h"       // limits of the `writer` line
#include "request-line.h" // request

static uint16_t crc;
static uint8_t bytes_phase, bytes_carry;

static void put(uint8_t c)
{
    crc = crc16_next(crc, c);
    answer_put(c);
}

static void put_digit(uint8_t value)
{
    put(value < 10 ? '0' + value : 'A' - 10 + value);
}

/* The last `digits` digits of a number. By bytes: shifting 32 bits by a variable count takes an AVR hundreds of cycles. */
static void put_digits(uint32_t value, uint8_t digits)
{
    const uint8_t bytes[4] = {(uint8_t)value, (uint8_t)(value >> 8), (uint8_t)(value >> 16), (uint8_t)(value >> 24)};
    while (digits-- != 0) {
        uint8_t byte = bytes[digits / 2];
        put_digit(digits % 2 == 0 ? byte & 15 : byte >> 4);
    }
}

static void put_number(uint32_t value)
{
    uint8_t digits = 1;
    uint8_t top = (uint8_t)value;
    if (value > 0xFFFFFF) {
        digits = 7;
        top = (uint8_t)(value >> 24);
    } else if (value > 0xFFFF) {
        digits = 5;
        top = (uint8_t)(value >> 16);
    } else if (value > 0xFF) {
        digits = 3;
        top = (uint8_t)(value >> 8);
    }
    put_digits(value, top > 15 ? digits + 1 : digits);
}

static void put_text(const char *flash_text)
{
    for (uint8_t c; (c = flash_byte(flash_text)) != 0; flash_text++)
        put(c);
}

void answer_begin(uint8_t seq, const char *flash_word)
{
    crc = CRC16_START;
    put_digits(seq, 2);
    answer_text(flash_word);
}

void answer_number(uint32_t value)
{
    put(' ');
    put_number(value);
}

void answer_digits(uint32_t value, uint8_t digits)
{
    put(' ');
    put_digits(value, digits);
}

void answer_text(const char *flash_text)
{
    put(' ');
    put_text(flash_text);
}

void answer_bytes_begin(void)
{
    put(' ');
    bytes_phase = 0;
}

void answer_byte(uint8_t byte)
{
    switch (bytes_phase) {
    case 0:
        put(base64_letter(byte >> 2));
        bytes_carry = (uint8_t)(byte << 4) & 0x30;
        bytes_phase = 1;
        return;
    case 1:
        put(base64_letter(bytes_carry | byte >> 4));
        bytes_carry = (uint8_t)(byte << 2) & 0x3C;
        bytes_phase = 2;
        return;
    default:
        put(base64_letter(bytes_carry | byte >> 6));
        put(base64_letter(byte));
        bytes_phase = 0;
        return;
    }
}

void answer_bytes_end(void)
{
    if (bytes_phase == 0)
        return;
    put(base64_letter(bytes_carry));
    put('=');
    if (bytes_phase == 1)
        put('=');
}

void answer_end(void)
{
    uint16_t check = crc;
    answer_digits(check, 4);
    answer_put('\n');
}

void answer_ok(uint8_t seq)
{
    answer_begin(seq, FLASH_TEXT("ok"));
    answer_end();
}

void answer_refusal(uint8_t seq, uint8_t refusal)
{
    answer_begin(seq, FLASH_TEXT("no"));
    answer_number(refusal);
    answer_end();
}

void answer_refused_request(void)
{
    answer_begin(request.seq, FLASH_TEXT("no"));
    answer_number(request.refusal);
    if (request.refusal == BAD_FIELD)
        answer_number(request.refused_field);
    answer_end();
}

static void put_key(const char *flash_key, uint32_t value)
{
    answer_text(flash_key);
    put_number(value);
}

static void put_rates(void)
{
    static const uint32_t rates[RATE_COUNT] FLASH = {RATES};
    answer_text(FLASH_TEXT("rates="));
    for (uint8_t i = 0; i < RATE_COUNT; i++) {
        if (i != 0)
            put(',');
        put_number(flash_long(&rates[i]));
    }
}

void answer_writer(uint8_t seq, uint16_t nonce)
{
    answer_begin(seq, FLASH_TEXT("writer"));
    put_key(FLASH_TEXT("version="), PROTOCOL_VERSION);
    put_key(FLASH_TEXT("nonce="), nonce);
    put_key(FLASH_TEXT("line="), LINE_MAX);
    put_key(FLASH_TEXT("store="), STORE_SIZE);
    put_key(FLASH_TEXT("slots="), SLOT_COUNT_MAX);
    put_key(FLASH_TEXT("cells="), CELLS_MAX);
    put_key(FLASH_TEXT("echo="), ECHO_MAX);
    put_key(FLASH_TEXT("silence="), SILENCE_MS);
    put_rates();
    answer_text(FLASH_TEXT("build=" BUILD_NAME));
    answer_end();
}
