/* `read` and `sum`: lines that are computed from the chip while they leave. */
#ifndef CELL_STREAM_H
#define CELL_STREAM_H

#include <stdbool.h> // bool
#include <stdint.h>  // uint8_t

/* Begins the good `read` or `sum` request that was just judged. */
void stream_begin(void);
/* Sends the next line, or the answer after the last one. */
void stream_step(void);
extern bool stream_running;
/* Ends it in the middle. */
void stream_stop(void);

#endif
