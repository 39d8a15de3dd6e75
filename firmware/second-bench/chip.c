/* The chip in the socket as its data sheet describes it, and the data bus between it and the microcontroller. */
#include "bench.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/*
 * AT28C256: Microchip AT28C256, "6.7 Page Mode Characteristics" and "AC Read Characteristics", the slowest grade, -25.
 * AT28C16: Atmel 0540B for organisation, cycle and DATA polling; its AC tables from memory.
 */
static const struct part {
    const char *name, *source;
    uint32_t cells, page;
    double cycle_most_us, load_most_ns, access, ce_access, oe_access, release;
    double address_setup, address_hold, data_setup, data_hold, oe_hold, pulse, pulse_most, pulse_high;
    bool has_codes, has_toggle;
} parts[] = {
    {"AT28C256", "AT28C256-25", 32768, 64, 10000, 150000, 250, 250, 100, 60, 0, 50, 50, 0, 0, 100, 0, 50, true, true},
    {"AT28C16", "AT28C16-15, from memory", 2048, 1, 1000, 0, 150, 150, 70, 50, 10, 50, 50, 10, 10, 100, 1000, 0, false, false},
};

static const struct part *part;
static uint8_t *cells;
static double cycle_ns;

static struct chip_lines at = {true, true, true, 0, 0xFF, 0};
static uint32_t address;
static uint8_t floating = 0xFF; /* the level that the lines keep while nobody drives them */
static double address_ns = -1e9, ce_low_ns = -1e9, oe_ns = -1e9, data_ns = -1e9, start_ns, end_ns = -1e9, quiet_from_ns;
static bool quiet_told, hold_due;

/* Loads of the write at work, in their order. */
static struct {
    uint32_t address;
    uint8_t byte;
} loads[256];
static int load_count;
static uint32_t write_address;
static double busy_until_ns = -1;
static uint8_t last_byte, toggle;
static bool writing, is_protected;

void chip_start(const char *name, double cycle_us, const char *cells_file)
{
    for (unsigned i = 0; i < sizeof parts / sizeof *parts; i++)
        if (strcmp(parts[i].name, name) == 0)
            part = &parts[i];
    measure_demand(QUIET, 25e6, "firmware-protocol.md section 2");
    if (part == NULL)
        return;
    cycle_ns = cycle_us * 1000;
    cells = malloc(part->cells);
    memset(cells, 0xFF, part->cells);
    FILE *file = cells_file ? fopen(cells_file, "rb") : NULL;
    if (file != NULL && fread(cells, 1, part->cells, file) != part->cells)
        fprintf(stderr, "%s is shorter than the chip\n", cells_file);
    measure_demand(ADDRESS_SETUP, part->address_setup, part->source);
    measure_demand(ADDRESS_HOLD, part->address_hold, part->source);
    measure_demand(OE_SETUP, part->address_setup, part->source);
    measure_demand(OE_HOLD, part->oe_hold, part->source);
    measure_demand(CE_SETUP, 0, part->source);
    measure_demand(CE_HOLD, 0, part->source);
    measure_demand(PULSE_SHORT, part->pulse, part->source);
    if (part->pulse_most > 0)
        measure_demand(PULSE_LONG, part->pulse_most, part->source);
    if (part->page > 1) {
        measure_demand(PULSE_HIGH, part->pulse_high, part->source);
        measure_demand(LOAD_CYCLE, part->load_most_ns, part->source);
    }
    measure_demand(DATA_SETUP, part->data_setup, part->source);
    measure_demand(DATA_HOLD, part->data_hold, part->source);
    measure_demand(ACCESS_ADDRESS, part->access, part->source);
    measure_demand(ACCESS_CE, part->ce_access, part->source);
    measure_demand(ACCESS_OE, part->oe_access, part->source);
    measure_demand(RELEASE, part->release, part->source);
}

void chip_save(const char *name)
{
    FILE *file = fopen(name, "wb");
    if (file == NULL || part == NULL || fwrite(cells, 1, part->cells, file) != part->cells)
        fprintf(stderr, "%s could not be written\n", name);
    if (file != NULL)
        fclose(file);
}

static bool code_at(int place, uint32_t where, uint8_t byte)
{
    return place < load_count && loads[place].address == (where & (part->cells - 1)) && loads[place].byte == byte;
}

/* How many of the loads are a protection code, which is obeyed; the rest are data. */
static int obey_code(void)
{
    if (!part->has_codes || !code_at(0, 0x5555, 0xAA) || !code_at(1, 0x2AAA, 0x55))
        return 0;
    if (code_at(2, 0x5555, 0xA0)) {
        is_protected = true;
        return 3;
    }
    if (code_at(2, 0x5555, 0x80) && code_at(3, 0x5555, 0xAA) && code_at(4, 0x2AAA, 0x55) && code_at(5, 0x5555, 0x20)) {
        is_protected = false;
        return 6;
    }
    return 0;
}

/* The writer was reset: it shall leave the chip alone for a while. */
void chip_reset(void)
{
    quiet_from_ns = now_ns();
    quiet_told = false;
}

/* The load window is over: the write cycle has begun. What it stores is stored at once; readers see it when it has ended. */
static void chip_settle(void)
{
    double begins = end_ns + part->load_most_ns;
    if (load_count == 0 || writing || now_ns() < begins)
        return;
    bool was_protected = is_protected;
    int code = obey_code();
    for (int i = code; i < load_count; i++) {
        if ((loads[i].address ^ loads[code].address) & ~(part->page - 1))
            breach("one write cycle reaches into two pages");
        if (code > 0 || !was_protected)
            cells[loads[i].address] = loads[i].byte;
    }
    load_count = 0;
    busy_until_ns = begins + cycle_ns;
}

static bool is_busy(void)
{
    chip_settle();
    return load_count > 0 || now_ns() < busy_until_ns;
}

static void write_starts(double ns)
{
    chip_settle();
    if (ns < busy_until_ns)
        breach("a load while the write cycle goes on");
    if (load_count > 0 && part->page > 1) {
        measure(PULSE_HIGH, ns - end_ns);
        measure(LOAD_CYCLE, ns - start_ns);
    }
    measure(ADDRESS_SETUP, ns - address_ns);
    measure(CE_SETUP, ns - ce_low_ns);
    measure(OE_SETUP, ns - oe_ns);
    writing = true;
    start_ns = ns;
    write_address = address & (part->cells - 1);
}

static void write_ends(double ns)
{
    writing = false;
    if (at.driven != 0xFF)
        breach("a load while the data lines are not driven");
    measure(PULSE_SHORT, ns - start_ns);
    measure(PULSE_LONG, ns - start_ns);
    measure(DATA_SETUP, ns - data_ns);
    if (load_count < 256)
        loads[load_count++] = (typeof(loads[0])){write_address, at.data};
    last_byte = at.data;
    end_ns = ns;
    hold_due = true;
}

void chip_address(uint32_t wanted)
{
    /* The registers' outputs follow their latch by up to 44 ns (Nexperia 74HC595, 4.5 V, 85 C), or by nearly nothing. */
    if (part != NULL && writing)
        measure(ADDRESS_HOLD, now_ns() - start_ns);
    address = wanted;
    address_ns = now_ns() + 44;
}

static void follow_data(const struct chip_lines *to, double ns)
{
    if (part != NULL && hold_due)
        measure(DATA_HOLD, ns - end_ns);
    hold_due = false;
    if (to->driven != 0 && part != NULL) {
        if (!at.ce && !at.oe && at.we)
            fight("the microcontroller drives the bus while the chip does");
        else if (at.driven == 0) {
            measure(RELEASE, ns - oe_ns);
            if (ns - oe_ns < part->release)
                fight("the microcontroller drives the bus before the chip has let go of it");
        }
    }
    data_ns = ns;
}

void chip_lines(const struct chip_lines *to)
{
    double ns = now_ns();
    if (to->driven != at.driven || (to->data ^ at.data) & to->driven)
        follow_data(to, ns);
    floating = (uint8_t)((floating & ~to->driven) | (to->data & to->driven));
    if (at.ce && !to->ce) {
        ce_low_ns = ns;
        if (!quiet_told)
            measure(QUIET, ns - quiet_from_ns);
        quiet_told = true;
    }
    if (at.oe != to->oe) {
        if (!to->oe && part != NULL) {
            chip_settle();
            if (!to->ce && to->we && to->driven != 0)
                fight("/OE falls while the microcontroller drives the bus");
            if (end_ns > 0)
                measure(OE_HOLD, ns - end_ns);
            toggle ^= 0x40;
        }
        oe_ns = ns;
    }
    bool wrote = !at.ce && !at.we, writes = !to->ce && !to->we;
    bool data_goes_with_it = to->driven != at.driven;
    if (part != NULL && wrote && !writes) {
        if (data_goes_with_it)
            breach("data leave together with the end of /WE");
        write_ends(ns);
    }
    if (part != NULL && !at.ce && to->ce && end_ns > 0)
        measure(CE_HOLD, ns - end_ns);
    at = *to;
    if (part != NULL && writes && !wrote) {
        if (!to->oe)
            breach("/WE falls while /OE is low");
        else
            write_starts(ns);
    }
}

/* What the input register shows to an instruction that reads it now: the level half a cycle before it began. */
uint8_t chip_sample(void)
{
    double ns = now_ns() - NS_PER_CYCLE / 2;
    if (part != NULL && !at.ce && !at.oe && at.we) {
        uint8_t byte = cells[address & (part->cells - 1)];
        if (is_busy())
            byte = (uint8_t)((~last_byte & 0x80) | (part->has_toggle ? toggle : 0) | (last_byte & 0x3F));
        measure(ACCESS_ADDRESS, ns - address_ns);
        measure(ACCESS_CE, ns - ce_low_ns);
        measure(ACCESS_OE, ns - oe_ns);
        bool ready = ns - address_ns >= part->access && ns - ce_low_ns >= part->ce_access && ns - oe_ns >= part->oe_access;
        floating = ready ? byte : (uint8_t)~byte;
    } else {
        floating |= (uint8_t)(at.pulled & ~at.driven);
    }
    return floating;
}
