/*
 * The second bench: the built firmware on Debian's simavr, wired as firmware/README.md says, to a chip as its data sheet
 * describes it. It judges the writer and the first bench (src/emulator), so it shares no code and no table with either.
 *
 * simavr gives the core, the timers, the watchdog, sleep and self-programming. Its USART (64 characters deep, a parity
 * bit too many) and its SPI (100 us a byte) are replaced by usart.c and registers.c, from the ATmega328P data sheet.
 */
#ifndef BENCH_H
#define BENCH_H

#include <simavr/avr_ioport.h>
#include <simavr/sim_avr.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define MHZ 16
#define NS_PER_CYCLE (1000.0 / MHZ)

/* Nanoseconds since the bench was started; simavr's own count may begin anew at a reset. */
double now_ns(void);
extern avr_t *avr;

/* Puts our own reading and writing of one of the microcontroller's registers in place of simavr's. Either may be NULL. */
void take_register(uint16_t address, avr_io_read_t read, avr_io_write_t write);

/* usart.c: the line at bit level. The host's rate is its own, and may be wrong. */
void usart_start(void);
void usart_reset(void);
void usart_from_host(const uint8_t *bytes, int count, double baud);
void usart_to_host(uint8_t byte, double bit_ns); /* in pty.c: a character has left the microcontroller */

/* pty.c: the port that the host opens. Opening it resets the board, as on boards that tie DTR to RESET. */
void pty_start(const char *path);
void pty_turn(void);

/* bench.c */
void board_reset(void);

/* registers.c: the SPI and the chain of 74HC595. */
void registers_start(int count);
void registers_reset(void);
void registers_pins(bool cell_latch, bool row_latch);
bool registers_return(void);

/* chip.c: the chip in the socket, and the bus. */
struct chip_lines {
    bool ce, oe, we; /* levels */
    uint8_t driven;  /* data lines that the microcontroller drives, and to what */
    uint8_t data;
    uint8_t pulled; /* data lines on which its pull-up is on */
};
void chip_start(const char *part, double cycle_us, const char *cells_file);
void chip_reset(void);
void chip_address(uint32_t address);
void chip_lines(const struct chip_lines *lines);
uint8_t chip_sample(void);
void chip_save(const char *file);

/* measures.c: the least (or longest) of each time, beside what the data sheet asks for. */
enum measure {
    ADDRESS_SETUP, ADDRESS_HOLD, OE_SETUP, OE_HOLD, CE_SETUP, CE_HOLD, PULSE_SHORT, PULSE_LONG, PULSE_HIGH, DATA_SETUP, DATA_HOLD,
    LOAD_CYCLE, ACCESS_ADDRESS, ACCESS_CE, ACCESS_OE, RELEASE, SHIFT_TO_LATCH, LATCH_PULSE, QUIET, MEASURES
};
void measure_demand(enum measure which, double ns, const char *source);
void measure(enum measure which, double ns);
/* Something that has no figure: two drivers on a line, a load in a write cycle. */
void breach(const char *what);
void fight(const char *what);
void measures_report(void);

#endif
