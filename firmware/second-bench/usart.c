/*
 * USART0 of the ATmega328P (its data sheet, chapter USART0): double-buffered out, two characters and a shift register
 * in, framing errors and overruns. What arrives is sampled bit by bit from the level of the line, so that a host at
 * another rate is heard as a board would hear it.
 */
#include "bench.h"

#define UCSRA 0xC0
#define UCSRB 0xC1
#define UBRRL 0xC4
#define UBRRH 0xC5
#define UDR 0xC6
#define RXC 0x80
#define TXC 0x40
#define UDRE 0x20
#define FE 0x10
#define DOR 0x08
#define U2X 0x02
#define MPCM 0x01
#define RXCIE 0x80
#define RXEN 0x10
#define TXEN 0x08
#define RECEIVE_VECTOR 18

/* Characters of the host on the line: when each begins, how long its bits are. */
#define LINE_SIZE 65536
static struct on_line {
    double begin, bit;
    uint8_t byte;
} line[LINE_SIZE];
static unsigned line_from, line_to;
static double line_free_ns, edge_ns;
static bool looking;

static struct {
    uint8_t byte, faults;
} buffer[3]; /* the third is the shift register */
static int buffered;
static int sending, waiting; /* -1: nothing */
static avr_int_vector_t *receive_interrupt;

static double bit_ns(void)
{
    int divisor = (avr->data[UBRRH] & 15) << 8 | avr->data[UBRRL];
    return (divisor + 1) * (avr->data[UCSRA] & U2X ? 8 : 16) * NS_PER_CYCLE;
}

/* Bit `place` of a character: start, eight data bits, stop. */
static bool bit_of(const struct on_line *c, int place)
{
    return place <= 0 ? false : place >= 9 ? true : c->byte >> (place - 1) & 1;
}

static bool level_at(double ns)
{
    for (unsigned i = line_from; i != line_to; i++) {
        const struct on_line *c = &line[i % LINE_SIZE];
        if (ns >= c->begin && ns < c->begin + 10 * c->bit)
            return bit_of(c, (int)((ns - c->begin) / c->bit));
    }
    return true;
}

/* When the line next falls, at `ns` or later; negative: not with what is on it. */
static double next_fall(double ns)
{
    while (line_from != line_to && line[line_from % LINE_SIZE].begin + 10 * line[line_from % LINE_SIZE].bit <= ns)
        line_from++;
    for (unsigned i = line_from; i != line_to; i++) {
        const struct on_line *c = &line[i % LINE_SIZE];
        for (int place = 0; place < 9; place++) {
            double fall = c->begin + place * c->bit;
            if (fall >= ns && !bit_of(c, place) && (place == 0 || bit_of(c, place - 1)))
                return fall;
        }
    }
    return -1;
}

static void show_front(void)
{
    avr->data[UCSRA] &= (uint8_t)~(FE | DOR);
    avr_clear_interrupt(avr, receive_interrupt);
    avr->data[UCSRA] &= (uint8_t)~RXC;
    if (buffered == 0)
        return;
    avr->data[UCSRA] |= buffer[0].faults;
    avr_raise_interrupt(avr, receive_interrupt);
    avr->data[UCSRA] |= RXC;
}

static void take(uint8_t byte, bool framing_error)
{
    if (!(avr->data[UCSRB] & RXEN))
        return;
    uint8_t overrun = 0;
    if (buffered == 3) {
        overrun = DOR;
        buffered = 2;
    }
    buffer[buffered].byte = byte;
    buffer[buffered].faults = (uint8_t)(overrun | (framing_error ? FE : 0));
    if (buffered++ == 0)
        show_front();
}

static avr_cycle_count_t character_heard(avr_t *mcu, avr_cycle_count_t when, void *param);

static void look_for_edge(double ns)
{
    edge_ns = next_fall(ns);
    looking = edge_ns >= 0;
    if (!looking)
        return;
    double cycles = (edge_ns + 9.5 * bit_ns() - now_ns()) / NS_PER_CYCLE;
    avr_cycle_timer_register(avr, cycles < 1 ? 1 : (avr_cycle_count_t)(cycles + 0.999), character_heard, NULL);
}

static avr_cycle_count_t character_heard(avr_t *mcu, avr_cycle_count_t when, void *param)
{
    double bit = bit_ns();
    if (level_at(edge_ns + 0.5 * bit)) { /* too short for a start bit */
        look_for_edge(edge_ns + 0.5 * bit);
        return 0;
    }
    uint8_t byte = 0;
    for (int place = 1; place <= 8; place++)
        byte |= (uint8_t)(level_at(edge_ns + (place + 0.5) * bit) << (place - 1));
    take(byte, !level_at(edge_ns + 9.5 * bit));
    look_for_edge(edge_ns + 9.5 * bit);
    return 0;
}

void usart_from_host(const uint8_t *bytes, int count, double baud)
{
    double bit = 1e9 / baud, ns = now_ns();
    for (int i = 0; i < count; i++) {
        if (line_to - line_from == LINE_SIZE) {
            breach("the host has more on the line than the bench holds");
            return;
        }
        double begin = line_free_ns > ns ? line_free_ns : ns;
        line[line_to++ % LINE_SIZE] = (struct on_line){begin, bit, bytes[i]};
        line_free_ns = begin + 10 * bit;
    }
    if (!looking)
        look_for_edge(ns);
}

static avr_cycle_count_t character_sent(avr_t *mcu, avr_cycle_count_t when, void *param)
{
    usart_to_host((uint8_t)sending, bit_ns());
    sending = waiting;
    waiting = -1;
    mcu->data[UCSRA] |= sending < 0 ? TXC : UDRE;
    return sending < 0 ? 0 : when + (avr_cycle_count_t)(10 * bit_ns() / NS_PER_CYCLE);
}

static void write_data(avr_t *mcu, avr_io_addr_t address, uint8_t value, void *param)
{
    if (!(mcu->data[UCSRB] & TXEN))
        return;
    if (sending < 0) {
        sending = value;
        avr_cycle_timer_register(mcu, (avr_cycle_count_t)(10 * bit_ns() / NS_PER_CYCLE), character_sent, NULL);
    } else if (waiting < 0) {
        waiting = value;
        mcu->data[UCSRA] &= (uint8_t)~UDRE;
    } else {
        breach("UDR0 written while it was full");
    }
}

static uint8_t read_data(avr_t *mcu, avr_io_addr_t address, void *param)
{
    uint8_t byte = buffer[0].byte;
    if (buffered > 0) {
        buffered--;
        buffer[0] = buffer[1];
        buffer[1] = buffer[2];
    }
    show_front();
    return byte;
}

static void write_status(avr_t *mcu, avr_io_addr_t address, uint8_t value, void *param)
{
    uint8_t kept = mcu->data[address] & (uint8_t)~(U2X | MPCM | (value & TXC));
    mcu->data[address] = (uint8_t)(kept | (value & (U2X | MPCM)));
}

static void write_control(avr_t *mcu, avr_io_addr_t address, uint8_t value, void *param)
{
    mcu->data[address] = value;
    if (!(value & RXEN))
        buffered = 0;
    show_front();
}

void usart_start(void)
{
    for (int i = 0; i < avr->interrupts.vector_count; i++)
        if (avr->interrupts.vector[i]->vector == RECEIVE_VECTOR)
            receive_interrupt = avr->interrupts.vector[i];
}

void usart_reset(void)
{
    buffered = 0;
    sending = waiting = -1;
    avr->data[UCSRA] = UDRE;
    take_register(UDR, read_data, write_data);
    take_register(UCSRA, NULL, write_status);
    take_register(UCSRB, NULL, write_control);
    take_register(0xC2, NULL, NULL);
    take_register(UBRRL, NULL, NULL);
    take_register(UBRRH, NULL, NULL);
    look_for_edge(now_ns());
}
