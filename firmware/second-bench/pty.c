/* The port that the host opens: one end of a pseudo-terminal, whose other end is the board's serial adapter. */
#define _GNU_SOURCE
#include "bench.h"

#include <asm/termbits.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/ioctl.h>
#include <unistd.h>

static int port;
static bool is_open;
static double host_baud = 115200;

void pty_start(const char *path)
{
    port = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
    if (port < 0 || grantpt(port) != 0 || unlockpt(port) != 0) {
        perror("pseudo-terminal");
        exit(1);
    }
    /* Opened and closed once, so that it counts as closed from now on; raw, so that nothing is echoed. */
    int host = open(ptsname(port), O_RDWR | O_NOCTTY);
    struct termios2 raw;
    ioctl(host, TCGETS2, &raw);
    raw.c_iflag = raw.c_oflag = raw.c_lflag = 0;
    ioctl(host, TCSETS2, &raw);
    close(host);
    unlink(path);
    if (symlink(ptsname(port), path) != 0) {
        perror(path);
        exit(1);
    }
}

/* Takes what the host has sent; sees it open and close the port. */
void pty_turn(void)
{
    struct pollfd state = {port, POLLIN, 0};
    poll(&state, 1, 0);
    bool open_now = (state.revents & POLLHUP) == 0;
    if (open_now && !is_open)
        board_reset();
    is_open = open_now;
    struct termios2 settings;
    if (is_open && ioctl(port, TCGETS2, &settings) == 0 && settings.c_ospeed > 0)
        host_baud = settings.c_ospeed;
    uint8_t bytes[4096];
    ssize_t count;
    while (is_open && (count = read(port, bytes, sizeof bytes)) > 0)
        usart_from_host(bytes, (int)count, host_baud);
}

/* The adapter samples each character at the host's rate; what does not fit comes out as another one. */
void usart_to_host(uint8_t byte, double bit_ns)
{
    double host_bit_ns = 1e9 / host_baud;
    uint8_t heard = 0;
    for (int place = 1; place <= 8; place++) {
        int sent = (int)((place + 0.5) * host_bit_ns / bit_ns);
        bool level = sent >= 9 || (sent > 0 && (byte >> (sent - 1) & 1));
        heard |= (uint8_t)(level << (place - 1));
    }
    if (is_open && write(port, &heard, 1) != 1)
        breach("the host does not take what the writer sends");
}
