/* Carrying out blocks, a step at a time. */
#ifndef BLOCK_WORK_H
#define BLOCK_WORK_H

#include <stdbool.h> // bool

/* Goes on with the block at work, or begins the next one. Returns soon: at most one page is loaded and one compared, or the near end of a cycle awaited. */
void block_work_step(void);
/* Has the first block begun? */
bool block_work_running(void);

#endif
