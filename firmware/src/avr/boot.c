/* Start of the writer. */
#include "boot.h" // boot

#include <avr/wdt.h>    // wdt_disable
#include <util/delay.h> // _delay_ms

#include "../check-sums.h"     // crc16_next
#include "../request-line.h"   // request_restart
#include "address-registers.h" // address_start
#include "bench-checks.h"      // park_lines
#include "block-queue.h"       // blocks_forget
#include "chip-bus.h"          // bus_release
#include "clock.h"             // clock_start
#include "serial.h"            // serial_start

#define QUIET_MS 25

/* Not cleared by a reset: the nonce goes on from the one before. */
static uint16_t nonce __attribute__((section(".noinit")));
static uint16_t starts __attribute__((section(".noinit")));

/*
 * Before the variables are set up: a watchdog that is still on after a reset would strike within 16 ms. And PORTC
 * before DDRC, so that no control line is ever driven low.
 */
void first_things(void) __attribute__((naked, used, section(".init3")));
void first_things(void)
{
    MCUSR = 0;
    wdt_disable();
    PORTC = PORTC_IDLE;
    DDRC = DDRC_ALL;
}

/*
 * Mixes what the SRAM between variables and stack holds into the nonce: some of its bits come up differently at every
 * power-up, and after a mere reset the old nonce and the count of starts make the difference.
 */
static void mix_nonce(void)
{
    extern uint8_t __heap_start;
    uint16_t mixed = nonce;
    for (const uint8_t *cell = &__heap_start; cell < (const uint8_t *)SP; cell++)
        mixed = crc16_next(mixed, *cell);
    starts++;
    mixed = crc16_next(crc16_next(mixed, (uint8_t)starts), (uint8_t)(starts >> 8));
    nonce = mixed == nonce ? mixed + 1 : mixed;
}

void boot(void)
{
    bus_release();
    mix_nonce();
    serial_start();
    clock_start();
    address_start();
    request_restart();
    blocks_forget();
    _delay_ms(QUIET_MS);
    park_lines();
    serial_listen();
}

uint16_t boot_nonce(void)
{
    return nonce;
}
