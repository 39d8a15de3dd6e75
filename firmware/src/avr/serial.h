/* The serial line: receiving by interrupt into a ring, sending from the main loop. */
#ifndef SERIAL_H
#define SERIAL_H

#include <avr/io.h>  // GPIOR0
#include <stdbool.h> // bool
#include <stdint.h>  // uint8_t

/* Turns the transmitter on, so that the line idles high; the receiver stays off. */
void serial_start(void);
/* Turns the receiver and its interrupt on. */
void serial_listen(void);

/* Changes the rate (index in RATES) when all that was put has left. */
void serial_set_rate(uint8_t index);
/* Index in RATES of the rate at work. */
uint8_t serial_rate(void);

/* Fewer characters than this are kept back until more come or a line ends: the codec is fastest with whole groups. */
#define SERIAL_GROUP 4

/*
 * The receive ring fills one whole 256-byte page of the SRAM, so that the interrupt needs no address arithmetic. The
 * linker puts it at the top (Makefile). Head and tail live in GPIOR0 and GPIOR1, one cycle away. The ring is full with
 * one place still free.
 */
#define RING_HEAD GPIOR0
#define RING_TAIL GPIOR1
extern uint8_t receive_ring[256];

/* Characters that wait. */
static inline uint8_t serial_backlog(void)
{
    return RING_HEAD - RING_TAIL;
}

/* Are there enough of them to be taken? */
static inline bool serial_is_waiting(void)
{
    uint8_t head = RING_HEAD;
    uint8_t count = head - RING_TAIL;
    return count >= SERIAL_GROUP || (count != 0 && receive_ring[(uint8_t)(head - 1)] == '\n');
}

/*
 * Received characters: at most `limit` that stand in one piece, and where. They stay until serial_received_taken.
 * A character that came with a framing error, or in whose place others were lost, is DAMAGED (request-line.h).
 */
uint8_t serial_received(const uint8_t **characters, uint8_t limit);

static inline void serial_received_taken(uint8_t count)
{
    RING_TAIL += count;
}

/* What answer_put could not hand to the transmitter yet. */
#define SEND_RING_SIZE 128
extern uint8_t send_ring[SEND_RING_SIZE];
extern uint8_t send_head, send_tail;

static inline bool serial_is_sending(void)
{
    return send_head != send_tail;
}

/* Hands one waiting character to the transmitter, if there is one and it is free. */
static inline void serial_send_waiting(void)
{
    uint8_t tail = send_tail;
    if (tail != send_head && (UCSR0A & _BV(UDRE0)) != 0) {
        UDR0 = send_ring[tail];
        send_tail = (tail + 1) % SEND_RING_SIZE;
    }
}

#endif
