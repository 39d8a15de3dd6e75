/*
 * Loading and comparing take 19 cycles a byte each. While one byte is at work the SPI already shifts the next low address
 * (16 cycles); the registers' outputs stay until the latch. So both loops must be at least 18 cycles long.
 */
#include "page-transfer.h" // page_load

#include <avr/interrupt.h> // cli, sei

#include "address-registers.h" // address_prepare
#include "chip-bus.h"          // bus_release

void page_load(uint32_t address, const uint8_t *bytes, run_count count)
{
    uint8_t high, low, next = (uint8_t)address + 1;
    address_prepare(address);
    bus_drive(*bytes);
    __asm__ volatile(
        "ld   %[high], %a[bytes]+  \n\t"
        "mov  %[low], %[high]      \n\t"
        "andi %[low], %[datalow]   \n\t"
        "ori  %[low], %[latched]   \n"
        "1:                        \n\t"
        "out  %[portd], %[high]    \n\t" /* D0 and D1 in it reach only a pull-up and the pin that the USART drives */
        "out  %[portb], %[low]     \n\t" /* data, and the latch rises: the address is out 53 ns later */
        "out  %[spdr], %[next]     \n\t"
        "cli                       \n\t" /* some parts want the pulse shorter than 1 us */
        "out  %[pinc], %[we]       \n\t" /* a one in PINC toggles: /WE falls 3 cycles (187 ns) behind the latch */
        "cbi  %[portb], %[latch]   \n\t"
        "inc  %[next]              \n\t"
        "out  %[pinc], %[we]       \n\t" /* low for 4 cycles: 250 ns */
        "sei                       \n\t"
        "ld   %[high], %a[bytes]+  \n\t" /* at the end one byte too many, which nobody uses */
        "mov  %[low], %[high]      \n\t"
        "andi %[low], %[datalow]   \n\t"
        "ori  %[low], %[latched]   \n\t"
        "nop                       \n\t" /* gives the SPI its time */
        "dec  %[count]             \n\t"
        "brne 1b                   \n\t"
        : [bytes] "+e"(bytes), [count] "+r"(count), [next] "+r"(next), [high] "=&d"(high), [low] "=&d"(low)
        : [portb] "I"(_SFR_IO_ADDR(PORTB)), [pinc] "I"(_SFR_IO_ADDR(PINC)), [portd] "I"(_SFR_IO_ADDR(PORTD)),
          [spdr] "I"(_SFR_IO_ADDR(SPDR)), [we] "r"((uint8_t)_BV(WE)), [latch] "I"(CELL_LATCH), [datalow] "M"(DATA_LOW),
          [latched] "M"(PORTB_RELEASED | _BV(CELL_LATCH))
        : "memory");
    bus_release();
}

void cell_load(uint8_t byte)
{
    bus_drive(byte);
    cli();
    PORTC &= (uint8_t)~_BV(WE);
    __builtin_avr_delay_cycles(2); /* low for 4 cycles in all: 250 ns */
    PORTC |= _BV(WE);
    sei();
    bus_release();
}

bool page_compare(uint32_t address, const uint8_t *bytes, run_count count, struct difference *difference)
{
    const uint8_t *from = bytes;
    uint8_t actual, wanted, low, next = (uint8_t)address + 1;
    address_set(address);
    address_shift_cells(next++);
    chip_outputs_on();
    __builtin_avr_delay_cycles(SPI_BYTE_CYCLES);
    __asm__ volatile(
        "1:                        \n\t"
        "in   %[actual], %[pind]   \n\t" /* 17 cycles after its address: 1.06 us */
        "in   %[low], %[pinb]      \n\t"
        "sbi  %[portb], %[latch]   \n\t"
        "out  %[spdr], %[next]     \n\t"
        "cbi  %[portb], %[latch]   \n\t"
        "andi %[actual], %[datahigh] \n\t"
        "andi %[low], %[datalow]   \n\t"
        "or   %[actual], %[low]    \n\t"
        "ld   %[wanted], %a[bytes]+ \n\t"
        "inc  %[next]              \n\t"
        "cp   %[actual], %[wanted] \n\t"
        "brne 2f                   \n\t"
        "nop                       \n\t" /* gives the SPI its time */
        "dec  %[count]             \n\t"
        "brne 1b                   \n"
        "2:                        \n\t"
        : [bytes] "+e"(bytes), [count] "+r"(count), [next] "+r"(next), [actual] "=&d"(actual), [low] "=&d"(low),
          [wanted] "=&r"(wanted)
        : [portb] "I"(_SFR_IO_ADDR(PORTB)), [pinb] "I"(_SFR_IO_ADDR(PINB)), [pind] "I"(_SFR_IO_ADDR(PIND)),
          [spdr] "I"(_SFR_IO_ADDR(SPDR)), [latch] "I"(CELL_LATCH), [datalow] "M"(DATA_LOW), [datahigh] "M"(DATA_HIGH)
        : "memory");
    chip_outputs_off();
    if (actual == wanted)
        return true;
    difference->offset = (uint8_t)(bytes - from - 1);
    difference->wanted = wanted;
    difference->actual = actual;
    return false;
}
