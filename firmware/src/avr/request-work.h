/* From a request to what is done about it. */
#ifndef REQUEST_WORK_H
#define REQUEST_WORK_H

#include <stdint.h> // uint16_t

/* Takes some of the characters received, of which there must be one; acts on a request when its line ends. */
void request_work_step(void);
/* Looks after the rate at every slow tick: back to the slow one where a new rate fails, or after a long silence. */
void rate_watch(void);
/* The first line after a start. */
void send_greeting(void);

#endif
