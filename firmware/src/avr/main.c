/* The writer's main loop: everything takes small steps, and only receiving is by interrupt. */
#include "block-work.h"   // block_work_step
#include "boot.h"         // boot
#include "cell-stream.h"  // stream_step
#include "clock.h"        // clock_ticked
#include "request-work.h" // request_work_step
#include "serial.h"       // serial_send_waiting

int main(void)
{
    boot();
    send_greeting();
    for (;;) {
        serial_send_waiting();
        if (serial_is_waiting())
            request_work_step();
        if (stream_running)
            stream_step();
        else
            block_work_step();
        if (clock_ticked()) {
            clock_tick_seen();
            rate_watch();
        }
    }
}
