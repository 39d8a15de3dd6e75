/* The limits that the writer announces (firmware-protocol.md section 2), and the numbers of its refusals (section 5). */
#ifndef LIMITS_H
#define LIMITS_H

#define PROTOCOL_VERSION 0x2
#define LINE_MAX 0x190      /* characters of a line, LF included */
#define STORE_SIZE 0x400    /* bytes of the block store */
#define SLOT_COUNT_MAX 0x10 /* blocks outstanding */
#define CELLS_MAX 0x40      /* cells of a block that is written cell by cell */
#define ECHO_MAX 0x30       /* bytes of an echo */
#define SILENCE_MS 0x1F4    /* ms until the first character of an answer */
#define BUILD_NAME "firmware-2.0.0"

#define READ_LINE_BYTES 0xC0 /* bytes in one line of a read */
#define SUMS_PER_LINE 8
#define REMEMBERED_BLOCKS 16

/* The rates of the `writer` line, slowest first; the writer starts and falls back to the first. */
#define RATE_COUNT 4
#define RATES 115200, 250000, 500000, 1000000

enum refusal {
    GOOD = 0,
    BAD_LINE = 0x1,
    TOO_LONG = 0x2,
    UNKNOWN_WORD = 0x3,
    BAD_FIELD = 0x4,
    NO_CHIP = 0x5,
    OUT_OF_RANGE = 0x6,
    BAD_BLOCK = 0x7,
    WINDOW_FULL = 0x8,
    BUSY = 0x9,
    NOT_DRIVEN = 0xA,
    NEVER_READY = 0xB,
    MISMATCH = 0xC,
    NO_PROTECTION = 0xD,
    UNSAFE_HOLD = 0xE,
    STOPPED = 0xF,
    BAD_RATE = 0x10
};

#endif
