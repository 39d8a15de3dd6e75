/* The serial line (ATmega328P data sheet, chapter USART0). */
#include "serial.h" // serial_start

#include <avr/interrupt.h> // ISR
#include <util/delay.h>    // _delay_us

#include "../answer-line.h"  // answer_put
#include "../limits.h"       // RATE_COUNT
#include "../request-line.h" // DAMAGED

uint8_t receive_ring[256] __attribute__((section(".ring"), aligned(256)));

uint8_t send_ring[SEND_RING_SIZE];
uint8_t send_head, send_tail;

static uint8_t rate;

/*
 * Takes one character; its cycles are counted by tools/measure.mjs. Written by hand because at 1 000 000 baud it runs
 * every 160 cycles, in the middle of loading and comparing. The registers r2 to r5 are its own (Makefile), so it needs
 * no stack but for its return.
 */
ISR(USART_RX_vect, ISR_NAKED)
{
    __asm__ volatile(
        "movw r2, r30            \n\t"
        "in   r4, __SREG__       \n\t"
        "mov  r5, r24            \n\t"
        "in   r30, %[head]       \n\t"
        "ldi  r31, hi8(receive_ring) \n\t"
        "lds  r24, %[status]     \n\t" /* before UDR0: reading that moves on to the next character's flags */
        "andi r24, %[faults]     \n\t"
        "lds  r24, %[data]       \n\t"
        "breq 1f                 \n\t"
        "ldi  r24, %[damaged]    \n"
        "1:                      \n\t"
        "st   Z, r24             \n\t" /* the place at the head is always free */
        "inc  r30                \n\t"
        "in   r24, %[tail]       \n\t"
        "cp   r30, r24           \n\t"
        "breq 3f                 \n\t"
        "out  %[head], r30       \n"
        "2:                      \n\t"
        "mov  r24, r5            \n\t"
        "out  __SREG__, r4       \n\t"
        "movw r30, r2            \n\t"
        "reti                    \n"
        "3:                      \n\t" /* full: the character is lost, and the one before it says so */
        "subi r30, 2             \n\t"
        "ldi  r24, %[damaged]    \n\t"
        "st   Z, r24             \n\t"
        "rjmp 2b                 \n\t"
        :
        : [head] "I"(_SFR_IO_ADDR(RING_HEAD)), [tail] "I"(_SFR_IO_ADDR(RING_TAIL)),
          [status] "n"(_SFR_MEM_ADDR(UCSR0A)), [data] "n"(_SFR_MEM_ADDR(UDR0)),
          [faults] "M"(_BV(FE0) | _BV(DOR0)), [damaged] "M"(DAMAGED));
}

/* UBRR at 16 MHz in double speed, in the order of RATES: 115200 (+2.1 %), then 250000, 500000 and 1000000 exactly. */
static const uint8_t rate_divisors[RATE_COUNT] FLASH = {16, 7, 3, 1};

static void use_rate(uint8_t index)
{
    rate = index;
    UBRR0H = 0;
    UBRR0L = flash_byte(&rate_divisors[index]);
}

void serial_start(void)
{
    UCSR0A = _BV(U2X0);
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00); /* 8 data bits, no parity, 1 stop bit */
    use_rate(0);
    UCSR0B = _BV(TXEN0);
}

void serial_listen(void)
{
    UCSR0B = _BV(TXEN0) | _BV(RXEN0) | _BV(RXCIE0);
    sei();
}

void serial_set_rate(uint8_t index)
{
    while (send_head != send_tail)
        serial_send_waiting();
    while ((UCSR0A & _BV(UDRE0)) == 0)
        ;
    /* The last character is still in the shift register: 85 us at the slowest rate. */
    _delay_us(100);
    use_rate(index);
}

uint8_t serial_rate(void)
{
    return rate;
}

uint8_t serial_received(const uint8_t **characters, uint8_t limit)
{
    uint8_t tail = RING_TAIL;
    uint8_t count = RING_HEAD - tail;
    if (count > limit)
        count = limit;
    if (tail != 0 && count > (uint8_t)-tail)
        count = (uint8_t)-tail;
    *characters = &receive_ring[tail];
    return count;
}

/* The codec's way out. */
void answer_put(uint8_t character)
{
    uint8_t head = send_head, next = (head + 1) % SEND_RING_SIZE;
    while (next == send_tail)
        serial_send_waiting();
    send_ring[head] = character;
    send_head = next;
    serial_send_waiting();
}
