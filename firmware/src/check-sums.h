/* CRC-16/IBM-3740 over lines and CRC-32/ISO-HDLC over bytes (firmware-protocol.md section 1), a byte at a time. */
#ifndef CHECK_SUMS_H
#define CHECK_SUMS_H

#include <stdint.h> // uint16_t, uint32_t

#include "flash.h" // flash_word, flash_long

extern const uint16_t crc16_table[256] FLASH;
extern const uint32_t crc32_table[256] FLASH;

#define CRC16_START 0xFFFFu
#define CRC32_START 0xFFFFFFFFul

static inline uint16_t crc16_next(uint16_t crc, uint8_t byte)
{
    return (uint16_t)(crc << 8) ^ flash_word(&crc16_table[(uint8_t)((crc >> 8) ^ byte)]);
}

/* The running value; the sum itself is its complement (crc32_sum). */
static inline uint32_t crc32_next(uint32_t crc, uint8_t byte)
{
    return (crc >> 8) ^ flash_long(&crc32_table[(uint8_t)(crc ^ byte)]);
}

static inline uint32_t crc32_sum(uint32_t crc)
{
    return ~crc;
}

#endif
