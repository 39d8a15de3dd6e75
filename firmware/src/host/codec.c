/*
 * The writer's codec on a computer: reads one line on stdin for each line it prints.
 *
 *   codec decode    a line is a request; prints `good SEQ WORD fields` (numbers n:HEX, bytes b:HEX or b: with nothing
 *                   kept, held data driven:HEX, released or pulled), or the refusal line that the writer would send.
 *                   A good `chip` counts as chosen for the lines after it; an empty line prints `empty`.
 *   codec encode    a line is an answer in parts: SEQ WORD parts, each n:HEX (number), d2:HEX and d8:HEX (so many
 *                   digits), b:HEX (bytes); or SEQ writer n:HEX (the nonce). Prints the line as the writer sends it.
 *   codec fuzz SEED COUNT    feeds that many random lines and prints how many were good.
 */
#include <stdio.h>  // printf
#include <stdlib.h> // strtoul
#include <string.h> // strcmp

#include "../answer-line.h"   // answer_begin
#include "../limits.h"        // STORE_SIZE
#include "../request-line.h"  // request_take
#include "../request-rules.h" // rules_judge

static uint8_t store[STORE_SIZE];
static bool mute;

uint8_t *request_room(uint8_t word, uint16_t *room)
{
    *room = word == WORD_ECHO ? ECHO_MAX : chip.slot_size;
    return *room == 0 ? NULL : store;
}

void answer_put(uint8_t character)
{
    if (!mute)
        putchar(character);
}

static void print_bytes(void)
{
    uint16_t kept = request.bytes == NULL ? 0 : request.byte_count;
    printf(" b:");
    for (uint16_t i = 0; i < kept; i++)
        printf("%02X", request.bytes[i]);
}

static void print_request(void)
{
    char word[WORD_LETTERS_MAX + 1] = {0};
    memcpy(word, request_words[request.word].name, WORD_LETTERS_MAX);
    printf("good %02X %s", request.seq, word);
    for (uint8_t i = 0; i < field_count(request.word); i++) {
        switch (field_kind(request.word, i)) {
        case FIELD_NUMBER:
            printf(" n:%X", (unsigned)request.number[i]);
            break;
        case FIELD_BYTES:
            print_bytes();
            break;
        default:
            if (request.held == HELD_DRIVEN)
                printf(" driven:%02X", (unsigned)request.number[i]);
            else
                printf(request.held == HELD_PULLED ? " pulled" : " released");
        }
    }
    putchar('\n');
}

static void act_on_request(void)
{
    rules_judge();
    if (request.refusal != GOOD) {
        answer_refused_request();
        return;
    }
    if (request.word == WORD_CHIP)
        rules_choose_chip();
    if (!mute)
        print_request();
}

/* Feeds a line in pieces of every size, as a receiver would. */
static void feed(const char *text, size_t length)
{
    size_t done = 0, piece = 1;
    while (done < length) {
        size_t count = length - done < piece ? length - done : piece;
        done += request_take((const uint8_t *)text + done, (uint8_t)count);
        piece = piece % 255 + 1;
        if (request.ended)
            act_on_request();
    }
}

static int decode(void)
{
    static char text[4096];
    while (fgets(text, sizeof text, stdin) != NULL) {
        if (strcmp(text, "\n") == 0)
            printf("empty\n");
        feed(text, strlen(text));
    }
    return 0;
}

static void encode_part(char *part)
{
    char *value = strchr(part, ':');
    if (value == NULL)
        return;
    *value++ = 0;
    if (part[0] == 'n') {
        answer_number((uint32_t)strtoul(value, NULL, 16));
    } else if (part[0] == 'd') {
        answer_digits((uint32_t)strtoul(value, NULL, 16), (uint8_t)(part[1] - '0'));
    } else {
        answer_bytes_begin();
        for (; value[0] != 0 && value[1] != 0; value += 2) {
            char digits[3] = {value[0], value[1], 0};
            answer_byte((uint8_t)strtoul(digits, NULL, 16));
        }
        answer_bytes_end();
    }
}

static int encode(void)
{
    static char text[8192];
    while (fgets(text, sizeof text, stdin) != NULL) {
        char *seq = strtok(text, " \n"), *word = strtok(NULL, " \n");
        if (seq == NULL || word == NULL)
            continue;
        uint8_t number = (uint8_t)strtoul(seq, NULL, 16);
        if (strcmp(word, "writer") == 0) {
            char *nonce = strtok(NULL, " \n");
            answer_writer(number, (uint16_t)strtoul(nonce == NULL ? "0" : nonce + 2, NULL, 16));
            continue;
        }
        answer_begin(number, word);
        for (char *part; (part = strtok(NULL, " \n")) != NULL;)
            encode_part(part);
        answer_end();
    }
    return 0;
}

/* xorshift32 (Marsaglia 2003, from memory): the same seed gives the same lines everywhere. */
static uint32_t random_state;
static uint32_t random_below(uint32_t below)
{
    random_state ^= random_state << 13;
    random_state ^= random_state >> 17;
    random_state ^= random_state << 5;
    return random_state % below;
}

/* A line that is wholly random, or one that could be good, with its right check sequence half of the time. */
static size_t random_line(char *text, size_t room)
{
    static const char letters[] = "ABCDEFabcdef0123456789+/== -zZ~!\r\t";
    size_t length = 0;
    if (random_below(3) != 0) {
        length = (size_t)sprintf(text, "%02X %s", (unsigned)random_below(256),
                                 request_words[random_below(WORD_COUNT)].name);
        for (uint32_t fields = random_below(8); fields > 0; fields--) {
            text[length++] = ' ';
            bool number = random_below(2) == 0;
            for (uint32_t n = random_below(number ? 10 : 60); n > 0; n--)
                text[length++] = number ? "0123456789ABCDEF"[random_below(16)] : letters[random_below(29)];
        }
        if (random_below(2) == 0) {
            uint16_t check = 0xFFFF;
            for (size_t i = 0; i < length; i++) {
                check ^= (uint16_t)((uint8_t)text[i] << 8);
                for (int bit = 0; bit < 8; bit++)
                    check = (uint16_t)(check & 0x8000 ? check << 1 ^ 0x1021 : check << 1);
            }
            length += (size_t)sprintf(&text[length], " %04X", check);
        }
    }
    for (uint32_t n = random_below(8) == 0 ? random_below((uint32_t)(room - length - 1)) : 0; n > 0; n--)
        text[length++] = random_below(4) == 0 ? (char)random_below(256) : letters[random_below(sizeof letters - 1)];
    text[length++] = '\n';
    return length;
}

static int fuzz(uint32_t seed, uint32_t count)
{
    static char text[1200];
    uint32_t good = 0;
    random_state = seed == 0 ? 1 : seed;
    mute = true;
    for (uint32_t i = 0; i < count; i++) {
        size_t length = random_line(text, sizeof text);
        feed(text, length);
        good += request.ended && request.refusal == GOOD;
    }
    printf("seed %u: %u lines, %u of them good\n", (unsigned)seed, (unsigned)count, (unsigned)good);
    return 0;
}

int main(int argc, char **argv)
{
    request_restart();
    if (argc == 2 && strcmp(argv[1], "decode") == 0)
        return decode();
    if (argc == 2 && strcmp(argv[1], "encode") == 0)
        return encode();
    if (argc == 4 && strcmp(argv[1], "fuzz") == 0)
        return fuzz((uint32_t)strtoul(argv[2], NULL, 10), (uint32_t)strtoul(argv[3], NULL, 10));
    fprintf(stderr, "usage: codec decode | encode | fuzz SEED COUNT\n");
    return 2;
}
