/* The SPI (ATmega328P data sheet, chapter SPI, mode 0) and the chain of 74HC595 behind it. */
#include "bench.h"

#define SPCR 0x4C
#define SPSR 0x4D
#define SPDR 0x4E
#define SPIF 0x80
#define WCOL 0x40
#define SPE 0x40
#define MSTR 0x10

/* SN74HC595 at 4.5 V and 85 C: outputs 44 ns behind the latch (Nexperia 74HC595), shift before latch 19 ns (from memory). */
#define OUTPUT_DELAY_NS 44
static int registers;
static uint64_t chain; /* what the shift registers hold; the last bit in is bit 0 */
static uint32_t outputs;
static bool cell_latch, row_latch;
static double latched_ns, last_edge_ns;

static uint8_t sending, received;
static int edges_done = 8;
static double begun_ns, bit_ns;
static bool flag_seen;

void registers_start(int count)
{
    registers = count;
    chain = 0x5A3C96;
    measure_demand(SHIFT_TO_LATCH, 19, "SN74HC595, from memory");
    measure_demand(LATCH_PULSE, 20, "SN74HC595, from memory");
}

bool registers_return(void)
{
    return chain >> (8 * registers - 1) & 1;
}

/* Carries out the clock edges up to now. The registers' clock rises in the middle of each bit. */
static void shift_up_to(double ns)
{
    while (edges_done < 8 && begun_ns + (edges_done + 0.5) * bit_ns <= ns) {
        received = (uint8_t)(received << 1 | registers_return());
        chain = chain << 1 | (sending >> (7 - edges_done) & 1);
        last_edge_ns = begun_ns + (edges_done + 0.5) * bit_ns;
        edges_done++;
    }
}

static avr_cycle_count_t byte_done(avr_t *mcu, avr_cycle_count_t when, void *param)
{
    shift_up_to(now_ns());
    mcu->data[SPSR] |= SPIF;
    return 0;
}

static void write_data(avr_t *mcu, avr_io_addr_t address, uint8_t value, void *param)
{
    static const int dividers[] = {4, 16, 64, 128};
    if (flag_seen)
        mcu->data[SPSR] &= (uint8_t)~SPIF;
    flag_seen = false;
    if ((mcu->data[SPCR] & (SPE | MSTR)) != (SPE | MSTR))
        return;
    shift_up_to(now_ns());
    if (edges_done < 8 || now_ns() < begun_ns + 8 * bit_ns) {
        mcu->data[SPSR] |= WCOL;
        breach("SPDR written while a byte is being shifted");
        return;
    }
    int divider = dividers[mcu->data[SPCR] & 3] / (mcu->data[SPSR] & 1 ? 2 : 1);
    sending = value;
    edges_done = 0;
    bit_ns = divider * NS_PER_CYCLE;
    begun_ns = now_ns() + NS_PER_CYCLE; /* the instruction that writes takes this cycle */
    avr_cycle_timer_register(mcu, (avr_cycle_count_t)(1 + 8 * divider), byte_done, NULL);
}

static uint8_t read_data(avr_t *mcu, avr_io_addr_t address, void *param)
{
    if (flag_seen)
        mcu->data[SPSR] &= (uint8_t)~SPIF;
    flag_seen = false;
    shift_up_to(now_ns());
    return received;
}

static uint8_t read_status(avr_t *mcu, avr_io_addr_t address, void *param)
{
    flag_seen = (mcu->data[address] & SPIF) != 0;
    return mcu->data[address];
}

static void write_status(avr_t *mcu, avr_io_addr_t address, uint8_t value, void *param)
{
    mcu->data[address] = (uint8_t)((mcu->data[address] & ~1) | (value & 1));
}

void registers_reset(void)
{
    edges_done = 8;
    begun_ns = -1e9;
    flag_seen = false;
    take_register(SPDR, read_data, write_data);
    take_register(SPSR, read_status, write_status);
    take_register(SPCR, NULL, NULL);
}

void registers_pins(bool cell, bool row)
{
    double ns = now_ns();
    bool cell_rises = cell && !cell_latch, row_rises = row && !row_latch;
    if ((cell_latch && !cell) || (row_latch && !row))
        measure(LATCH_PULSE, ns - latched_ns);
    cell_latch = cell;
    row_latch = row;
    if (!cell_rises && !row_rises)
        return;
    shift_up_to(ns);
    measure(SHIFT_TO_LATCH, edges_done < 8 ? ns - (begun_ns + 7.5 * bit_ns) : ns - last_edge_ns);
    latched_ns = ns;
    uint32_t held = (uint32_t)(chain & ((1ull << 8 * registers) - 1));
    uint32_t old = outputs;
    if (cell_rises)
        outputs = (outputs & ~0xFFu) | (held & 0xFF);
    if (row_rises)
        outputs = (outputs & 0xFF) | (held & ~0xFFu);
    if (outputs != old)
        chip_address(outputs);
}
