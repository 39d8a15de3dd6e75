/* Presence of a chip, and lines held still. */
#include "bench-checks.h" // presence_mask

#include "../request-line.h"   // request
#include "address-registers.h" // address_set
#include "chip-bus.h"          // bus_drive

/* What the lines carry when they were charged with `charge` and then left to the chip, if there is one. */
static uint8_t read_after_charge(uint8_t charge)
{
    bus_drive(charge);
    __builtin_avr_delay_cycles(ACCESS_CYCLES);
    bus_release();
    chip_select();
    uint8_t byte = chip_read_once();
    chip_deselect();
    return byte;
}

uint8_t presence_mask(uint32_t address)
{
    address_set(address);
    uint8_t after_low = read_after_charge(0x00);
    uint8_t after_high = read_after_charge(0xFF);
    return (uint8_t)~after_low & after_high;
}

/* Bits of `control`: the levels of the control lines. */
#define HOLD_CE_HIGH 1
#define HOLD_OE_HIGH 2
#define HOLD_WE_HIGH 4

static uint8_t held_control(uint8_t control)
{
    uint8_t levels = 0;
    if (control & HOLD_CE_HIGH)
        levels |= _BV(CE);
    if (control & HOLD_OE_HIGH)
        levels |= _BV(OE);
    if (control & HOLD_WE_HIGH)
        levels |= _BV(WE);
    return levels;
}

uint8_t hold_lines(void)
{
    uint8_t control = held_control((uint8_t)request.number[1]);
    address_set(request.number[0]);
    lamp_on();
    if (request.held == HELD_DRIVEN) {
        bus_drive((uint8_t)request.number[2]);
    } else if (request.held == HELD_PULLED) {
        PORTD = DATA_HIGH | PORTD_RELEASED;
        PORTB = DATA_LOW | PORTB_RELEASED;
    }
    /* Parked, all three are high. Going low, /CE stays behind /WE: that pair is never low together (request-rules.c). */
    PORTC = (PORTC & (uint8_t)~CONTROL_HIGH) | control;
    /* Pull-ups of 50 k against 100 pF of wire: 5 us a time constant. */
    __builtin_avr_delay_cycles(800);
    return bus_sample();
}

void park_lines(void)
{
    PORTC |= _BV(WE);
    PORTC |= _BV(CE);
    PORTC |= _BV(OE);
    __builtin_avr_delay_cycles(RELEASE_CYCLES);
    bus_release();
    address_set(0);
    lamp_off();
}
