/*
 * second-bench port=<path> firmware=<file.hex> [loader=<file.hex>] [chip=<part>|none] [registers=<n>] [cycle=<us>] [cells=<file>]
 *
 * Runs in real time until it is told to end. Lines on standard input: `report` prints the measured times, `cells <file>`
 * and `flash <file>` save what is stored, `reset` resets the board, `wait <ms>` lets time pass on the
 * board, `end` ends it. Each is answered by `done`.
 */
#define _GNU_SOURCE
#include "bench.h"

#include <fcntl.h>
#include <sched.h>
#include <stdio.h>
#include <stdlib.h>
#include <simavr/sim_hex.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define PINB 0x23
#define PIND 0x29
#define MCUSR 0x54
#define EXTRF 0x02
#define PORF 0x01
#define TURN_CYCLES 2000 /* 125 us between two looks at the port */

avr_t *avr;
static double before_ns; /* what had passed when simavr's count began anew */
static avr_cycle_count_t last_cycle;
static uint8_t ports[6]; /* direction and level of ports B, C and D as last seen */
static int resets;
static double wait_until_ns;

double now_ns(void)
{
    return before_ns + (double)avr->cycle * NS_PER_CYCLE;
}

void take_register(uint16_t address, avr_io_read_t read, avr_io_write_t write)
{
    avr->io[AVR_DATA_TO_IO(address)].r.c = read;
    avr->io[AVR_DATA_TO_IO(address)].r.param = NULL;
    avr->io[AVR_DATA_TO_IO(address)].w.c = write;
    avr->io[AVR_DATA_TO_IO(address)].w.param = NULL;
}

/* D0, D1 on PB0, PB1; the chain return on PB4; all other inputs have pull-ups. What is driven reads as it is driven. */
static uint8_t read_pinb(avr_t *mcu, avr_io_addr_t address, void *param)
{
    uint8_t levels = (uint8_t)(0xEC | (chip_sample() & 3) | (registers_return() ? 0x10 : 0));
    return (uint8_t)((levels & ~mcu->data[0x24]) | (mcu->data[0x25] & mcu->data[0x24]));
}

/* D2 to D7 on PD2 to PD7; PD0, PD1 are the serial line. */
static uint8_t read_pind(avr_t *mcu, avr_io_addr_t address, void *param)
{
    uint8_t levels = (uint8_t)(3 | (chip_sample() & 0xFC));
    return (uint8_t)((levels & ~mcu->data[0x2A]) | (mcu->data[0x2B] & mcu->data[0x2A]));
}

/* The pins as the registers for ports B, C and D make them (firmware/README.md, Wiring). */
static void follow_pins(void)
{
    uint8_t ddrb = avr->data[0x24], portb = avr->data[0x25], ddrc = avr->data[0x27], portc = avr->data[0x28];
    uint8_t ddrd = avr->data[0x2A], portd = avr->data[0x2B];
    const uint8_t seen[] = {ddrb, portb, ddrc, portc, ddrd, portd};
    if (memcmp(seen, ports, sizeof seen) == 0)
        return;
    memcpy(ports, seen, sizeof seen);
    registers_pins((ddrb & portb) >> 2 & 1, (ddrc & portc) >> 2 & 1);
    uint8_t high = (uint8_t)(portc | ~ddrc); /* 10 k hold a control line that nobody drives */
    struct chip_lines lines = {high >> 1 & 1, high >> 5 & 1, high >> 3 & 1, 0, 0, 0};
    lines.driven = (uint8_t)((ddrd & 0xFC) | (ddrb & 3));
    lines.data = (uint8_t)((portd & 0xFC) | (portb & 3));
    lines.pulled = (uint8_t)(lines.data & ~lines.driven);
    chip_lines(&lines);
}

/* Called by simavr at every reset, its own watchdog's too. */
static void parts_reset(avr_io_t *io)
{
    before_ns += (double)last_cycle * NS_PER_CYCLE;
    avr->cycle = last_cycle = 0;
    resets++;
    registers_reset();
    usart_reset();
    /* Reading alone: writing a one there toggles the pin, which simavr does. */
    avr->io[AVR_DATA_TO_IO(PINB)].r.c = read_pinb;
    avr->io[AVR_DATA_TO_IO(PIND)].r.c = read_pind;
    chip_reset();
}

void board_reset(void)
{
    last_cycle = avr->cycle;
    avr_reset(avr);
    avr->data[MCUSR] = EXTRF;
}

static void load(const char *file)
{
    ihex_chunk_p chunks;
    int count = read_ihex_chunks(file, &chunks);
    if (count <= 0) {
        fprintf(stderr, "%s holds no program\n", file);
        exit(1);
    }
    for (int i = 0; i < count; i++)
        if (chunks[i].size > 0 && chunks[i].baseaddr + chunks[i].size <= avr->flashend + 1)
            memcpy(avr->flash + chunks[i].baseaddr, chunks[i].data, chunks[i].size);
    avr->reset_pc = chunks[0].baseaddr; /* a boot loader is loaded last, and started by every reset */
    free_ihex_chunks(chunks);
}

static void no_sleep(avr_t *mcu, avr_cycle_count_t cycles)
{
}

static const char *option(int count, char **words, const char *name, const char *otherwise)
{
    size_t length = strlen(name);
    for (int i = 1; i < count; i++)
        if (strncmp(words[i], name, length) == 0 && words[i][length] == '=')
            return words[i] + length + 1;
    return otherwise;
}

static void save_flash(const char *name)
{
    FILE *file = fopen(name, "wb");
    if (file == NULL || fwrite(avr->flash, 1, avr->flashend + 1, file) != avr->flashend + 1)
        fprintf(stderr, "%s could not be written\n", name);
    if (file != NULL)
        fclose(file);
}

static void say_done(void)
{
    printf("done\n");
    fflush(stdout);
}

/* Carries out the commands on standard input; false when it is to end. */
static bool commands(void)
{
    static char line[512];
    static size_t length;
    char c;
    ssize_t got;
    if (now_ns() < wait_until_ns)
        return true;
    if (wait_until_ns > 0)
        say_done();
    wait_until_ns = 0;
    while ((got = read(0, &c, 1)) == 1) {
        if (c != '\n') {
            if (length < sizeof line - 1)
                line[length++] = c;
            continue;
        }
        line[length] = 0;
        length = 0;
        if (strcmp(line, "end") == 0)
            return false;
        if (strcmp(line, "reset") == 0)
            board_reset();
        else if (strncmp(line, "cells ", 6) == 0)
            chip_save(line + 6);
        else if (strncmp(line, "flash ", 6) == 0)
            save_flash(line + 6);
        else if (strcmp(line, "report") == 0) {
            measures_report();
            printf("resets %d\n", resets);
        }
        if (strncmp(line, "wait ", 5) == 0) {
            wait_until_ns = now_ns() + atof(line + 5) * 1e6;
            return true;
        }
        say_done();
    }
    return got != 0; /* 0: whoever started the bench is gone */
}

static double clock_ns(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e9 + (double)now.tv_nsec;
}

/* One instruction, and what its interrupt costs: simavr enters interrupts for nothing, the data sheet says 4 cycles. */
static void step(void)
{
    int running = avr->interrupts.running_ptr;
    int state = avr_run(avr);
    if (avr->interrupts.running_ptr > running)
        avr->cycle += 4;
    last_cycle = avr->cycle;
    follow_pins();
    if (state == cpu_Crashed || state == cpu_Done) {
        breach("the program ran away");
        board_reset();
    }
}

int main(int count, char **words)
{
    avr = avr_make_mcu_by_name("atmega328p");
    avr_init(avr);
    avr->frequency = MHZ * 1000000;
    avr->log = LOG_ERROR;
    avr->sleep = no_sleep;
    for (int i = 0x100; i <= avr->ramend; i++)
        avr->data[i] = (uint8_t)(i * 167 + time(NULL));
    load(option(count, words, "firmware", ""));
    avr->reset_pc = 0;
    if (option(count, words, "loader", NULL) != NULL)
        load(option(count, words, "loader", NULL));
    avr->codeend = avr->flashend;
    registers_start(atoi(option(count, words, "registers", "2")));
    chip_start(option(count, words, "chip", "none"), atof(option(count, words, "cycle", "1000")),
               option(count, words, "cells", NULL));
    usart_start();
    static avr_io_t parts = {.kind = "bench", .reset = parts_reset};
    avr_register_io(avr, &parts);
    avr_reset(avr);
    avr->data[MCUSR] = PORF;
    pty_start(option(count, words, "port", "second-bench-port"));
    fcntl(0, F_SETFL, O_NONBLOCK);
    printf("ready\n");
    fflush(stdout);

    /* Where it may, before all others: a clock that a busy computer slows down is none to a host with deadlines. */
    sched_setscheduler(0, SCHED_RR, &(struct sched_param){.sched_priority = 1});
    double began = clock_ns() - now_ns();
    while (commands()) {
        pty_turn();
        for (double until = now_ns() + TURN_CYCLES * NS_PER_CYCLE; now_ns() < until;)
            step();
        double ahead = now_ns() - (clock_ns() - began);
        if (ahead > 0)
            nanosleep(&(struct timespec){0, (long)ahead}, NULL);
        else if (ahead < -2e6)
            began = clock_ns() - now_ns(); /* what is lost is not made good for: no time may seem shorter than it is */
    }
    return 0;
}
