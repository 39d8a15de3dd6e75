/* The address registers. The first one holds A0 to A7, so the highest byte of an address is shifted first. */
#include "address-registers.h" // address_set

#define REGISTERS_MAX 8

/* What the further registers hold; nothing at first. */
static uint16_t row;
static uint8_t row_known;

void address_start(void)
{
    /* Master, mode 0 (the registers shift on the rising edge), half the clock: 125 ns a bit. */
    SPCR = _BV(SPE) | _BV(MSTR);
    SPSR = _BV(SPI2X);
    row_known = 0;
}

static uint8_t shift(uint8_t byte)
{
    SPDR = byte;
    while ((SPSR & _BV(SPIF)) == 0)
        ;
    return SPDR; /* clears SPIF */
}

/* The SPIF of a byte that nobody waited for (address_shift_cells) must not be taken for the next one's. */
static void forget_spif(void)
{
    (void)SPSR;
    (void)SPDR;
}

void address_prepare(uint32_t address)
{
    uint16_t wanted = (uint16_t)(address >> 8);
    forget_spif();
    if (row_known && wanted == row) {
        shift((uint8_t)address);
        return;
    }
    shift((uint8_t)(address >> 16));
    shift((uint8_t)(address >> 8));
    shift((uint8_t)address);
    PORTC |= _BV(ROW_LATCH);
    PORTC &= (uint8_t)~_BV(ROW_LATCH);
    row = wanted;
    row_known = 1;
}

void address_set(uint32_t address)
{
    address_prepare(address);
    address_latch_cells();
}

/*
 * What is sent comes back when as many bytes as there are registers have followed. The chain is emptied first, and a
 * second mark behind the first makes a chance level on an open return no count.
 */
uint8_t address_count_registers(void)
{
    uint8_t count = 0;
    forget_spif();
    SPCR |= _BV(SPR0); /* slower: the return comes through 1 k */
    for (uint8_t i = 0; i < REGISTERS_MAX; i++)
        shift(0x00);
    shift(0xA6);
    uint8_t next = shift(0x35);
    for (uint8_t sent = 1; sent <= REGISTERS_MAX && count == 0; sent++) {
        uint8_t back = next;
        next = shift(0x00);
        if (back == 0xA6 && next == 0x35)
            count = sent;
    }
    SPCR &= (uint8_t)~_BV(SPR0);
    return count;
}
