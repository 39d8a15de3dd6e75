/* CRC-16/IBM-3740 over lines and CRC-32/ISO-HDLC over bytes (firmware-protocol.md section 1), a byte at a time. */
#ifndef CHECK_SUMS_H
#define CHECK_SUMS_H

#include <stdint.h> // uint16_t, uint32_t

#include "flash.h" // FLASH

/*
 * What each byte leaves in an empty register, one plane of 256 entries for each byte of the register, highest first.
 * On the AVR a plane fills one 256-byte page of the flash, so that the next one is one INC away.
 */
extern const uint8_t crc16_planes[2][256] FLASH;
extern const uint8_t crc32_planes[4][256] FLASH;

#define CRC16_START 0xFFFFu
#define CRC32_START 0xFFFFFFFFul

static inline uint16_t crc16_next(uint16_t crc, uint8_t byte)
{
    uint8_t index = (uint8_t)(crc >> 8) ^ byte;
#ifdef __AVR__
    uint16_t entry = index, next;
    __asm__("ldi %B[entry], hi8(crc16_planes) \n\t"
            "lpm %B[next], %a[entry]          \n\t"
            "inc %B[entry]                    \n\t"
            "lpm %A[next], %a[entry]          \n\t"
            "eor %B[next], %A[crc]            \n\t"
            : [entry] "+z"(entry), [next] "=&r"(next)
            : [crc] "r"(crc));
    return next;
#else
    return (uint16_t)((crc16_planes[0][index] ^ (crc & 0xFF)) << 8 | crc16_planes[1][index]);
#endif
}

/* The running value; the sum itself is its complement (crc32_sum). */
static inline uint32_t crc32_next(uint32_t crc, uint8_t byte)
{
    uint8_t index = (uint8_t)crc ^ byte;
#ifdef __AVR__
    uint16_t entry = index;
    uint32_t left;
    __asm__("ldi %B[entry], hi8(crc32_planes) \n\t"
            "lpm %D[left], %a[entry]          \n\t"
            "inc %B[entry]                    \n\t"
            "lpm %C[left], %a[entry]          \n\t"
            "inc %B[entry]                    \n\t"
            "lpm %B[left], %a[entry]          \n\t"
            "inc %B[entry]                    \n\t"
            "lpm %A[left], %a[entry]          \n\t"
            "eor %A[left], %B[crc]            \n\t"
            "eor %B[left], %C[crc]            \n\t"
            "eor %C[left], %D[crc]            \n\t"
            : [entry] "+z"(entry), [left] "=&r"(left)
            : [crc] "r"(crc));
    return left;
#else
    uint32_t left = (uint32_t)crc32_planes[0][index] << 24 | (uint32_t)crc32_planes[1][index] << 16 |
                    (uint32_t)crc32_planes[2][index] << 8 | crc32_planes[3][index];
    return left ^ crc >> 8;
#endif
}

static inline uint32_t crc32_sum(uint32_t crc)
{
    return ~crc;
}

#endif
