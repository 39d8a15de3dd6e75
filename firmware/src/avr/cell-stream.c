/* Reading the chip into lines. Nothing is stored: a byte goes from the data lines into the sums and out. */
#include "cell-stream.h" // stream_begin

#include "../answer-line.h"      // answer_byte
#include "../check-sums.h"       // crc32_next
#include "../limits.h"           // READ_LINE_BYTES
#include "../request-line.h"     // request
#include "address-registers.h"   // address_set
#include "chip-bus.h"            // bus_sample
#include "serial.h"              // serial_send_waiting

bool stream_running;
static uint8_t seq, word;
static uint32_t address, left;
static uint32_t page;  /* of `sum` */
static uint32_t pages; /* of `sum`: sent */
static uint32_t crc;   /* of `read`: over all bytes */

/* Cells in a row: while one is used, the next one's low address is shifted in. */
struct cell_reader {
    uint8_t next;
};

static inline void reader_start(struct cell_reader *reader, uint32_t from)
{
    address_set(from);
    reader->next = (uint8_t)from + 1;
    address_shift_cells(reader->next);
    __builtin_avr_delay_cycles(SPI_BYTE_CYCLES);
}

/* Takes a cell and moves on; two calls must be SPI_BYTE_CYCLES apart, which is access time enough as well. */
static inline uint8_t reader_take(struct cell_reader *reader)
{
    uint8_t byte = bus_sample();
    address_latch_cells();
    address_shift_cells(++reader->next);
    return byte;
}

/* As many cells from `from` on as lie in one row of 256, but at most `count`; 0 stands for 256. */
static uint8_t cells_in_row(uint32_t from, uint32_t count)
{
    uint16_t in_row = 256 - (uint8_t)from;
    return (uint8_t)(count < in_row ? count : in_row);
}

static void chip_open(void)
{
    chip_select();
    chip_outputs_on();
}

static void chip_close(void)
{
    chip_outputs_off();
    chip_deselect();
}

static uint32_t page_sum(uint32_t count)
{
    uint32_t sum = CRC32_START;
    while (count != 0) {
        uint8_t cells = cells_in_row(address, count);
        uint16_t length = cells == 0 ? 256 : cells;
        struct cell_reader reader;
        reader_start(&reader, address);
        do {
            sum = crc32_next(sum, reader_take(&reader));
            /* The line before leaves meanwhile: at 1 000 000 baud a character takes 160 cycles. */
            if ((cells & 3) == 0)
                serial_send_waiting();
        } while (--cells != 0);
        address += length;
        count -= length;
    }
    return crc32_sum(sum);
}

static void send_sums(void)
{
    answer_begin(seq, FLASH_TEXT("sums"));
    answer_number(address);
    for (uint8_t i = 0; i < SUMS_PER_LINE && left != 0; i++) {
        answer_digits(page_sum(page), 8);
        left -= page;
        pages++;
    }
    answer_end();
}

static void send_data(void)
{
    uint16_t count = left < READ_LINE_BYTES ? (uint16_t)left : READ_LINE_BYTES;
    left -= count;
    answer_begin(seq, FLASH_TEXT("data"));
    answer_number(address);
    answer_bytes_begin();
    while (count != 0) {
        uint8_t cells = cells_in_row(address, count);
        struct cell_reader reader;
        address += cells;
        count -= cells;
        reader_start(&reader, address - cells);
        do {
            uint8_t byte = reader_take(&reader);
            crc = crc32_next(crc, byte);
            answer_byte(byte);
        } while (--cells != 0);
    }
    answer_bytes_end();
    answer_end();
}

void stream_begin(void)
{
    stream_running = true;
    seq = request.seq;
    word = request.word;
    address = request.number[0];
    left = request.number[1];
    page = request.number[2];
    pages = 0;
    crc = CRC32_START;
    lamp_on();
}

void stream_stop(void)
{
    stream_running = false;
    lamp_off();
}

void stream_step(void)
{
    if (left != 0) {
        chip_open();
        if (word == WORD_SUM)
            send_sums();
        else
            send_data();
        chip_close();
        return;
    }
    stream_stop();
    answer_begin(seq, FLASH_TEXT("ok"));
    if (word == WORD_SUM)
        answer_number(pages);
    else
        answer_digits(crc32_sum(crc), 8);
    answer_end();
}
