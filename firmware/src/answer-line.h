/* From an answer to the characters of its line (firmware-protocol.md sections 1 and 4). */
#ifndef ANSWER_LINE_H
#define ANSWER_LINE_H

#include <stdint.h> // uint8_t

#include "flash.h" // PSTR

#ifdef __AVR__
#define FLASH_TEXT(text) PSTR(text)
#else
#define FLASH_TEXT(text) (text)
#endif

/* Begins a line: its number and its word. */
void answer_begin(uint8_t seq, const char *flash_word);
/* A space and a number without leading zeros. */
void answer_number(uint32_t value);
/* A space and a number of exactly `digits` digits. */
void answer_digits(uint32_t value, uint8_t digits);
/* A space and a text that stands in flash. */
void answer_text(const char *flash_text);
/* A space and bytes in base64: begin, each byte, end. */
void answer_bytes_begin(void);
void answer_byte(uint8_t byte);
void answer_bytes_end(void);
/* A space, the check sequence and LF. */
void answer_end(void);

/* Whole lines. */
void answer_ok(uint8_t seq);
void answer_refusal(uint8_t seq, uint8_t refusal);
/* Refuses the request that was just judged, with the index of a bad field. */
void answer_refused_request(void);
void answer_writer(uint8_t seq, uint16_t nonce);

/* Takes one character of a line. Supplied by whoever owns the wire; may wait until there is room. */
void answer_put(uint8_t character);

#endif
