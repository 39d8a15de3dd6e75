/* The serial line: receiving by interrupt into a ring, sending from the main loop. */
#ifndef SERIAL_H
#define SERIAL_H

#include <avr/io.h> // GPIOR0
#include <stdint.h> // uint8_t

/* Turns the transmitter on, so that the line idles high; the receiver stays off. */
void serial_start(void);
/* Turns the receiver and its interrupt on. */
void serial_listen(void);

/* Changes the rate (index in RATES) when all that was put has left. */
void serial_set_rate(uint8_t index);
/* Index in RATES of the rate at work. */
uint8_t serial_rate(void);

/*
 * Received characters: at most `limit` that stand in one piece, and where. They stay until serial_received_taken.
 * A character that came with a framing error, or in whose place others were lost, is DAMAGED (request-line.h).
 */
uint8_t serial_received(const uint8_t **characters, uint8_t limit);
void serial_received_taken(uint8_t count);

/* Hands one waiting character to the transmitter, if there is one and it is free. */
void serial_send_waiting(void);

#endif
