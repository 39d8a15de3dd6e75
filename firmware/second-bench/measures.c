/* The times that were measured at the pins, and what the data sheets ask for. */
#include "bench.h"

#include <stdio.h>
#include <string.h>

static const struct {
    const char *name;
    bool is_most; /* the figure is an upper bound */
} kinds[MEASURES] = {
    [ADDRESS_SETUP] = {"address set-up before /WE falls", false},
    [ADDRESS_HOLD] = {"address hold after /WE falls", false},
    [OE_SETUP] = {"/OE high before /WE falls", false},
    [OE_HOLD] = {"/OE high after /WE rises", false},
    [CE_SETUP] = {"/CE low before /WE falls", false},
    [CE_HOLD] = {"/CE low after /WE rises", false},
    [PULSE_SHORT] = {"/WE low, shortest", false},
    [PULSE_LONG] = {"/WE low, longest", true},
    [PULSE_HIGH] = {"/WE high between two loads", false},
    [DATA_SETUP] = {"data set-up before /WE rises", false},
    [DATA_HOLD] = {"data hold after /WE rises", false},
    [LOAD_CYCLE] = {"load to load of one page, longest", true},
    [ACCESS_ADDRESS] = {"access from the address", false},
    [ACCESS_CE] = {"access from /CE", false},
    [ACCESS_OE] = {"access from /OE", false},
    [RELEASE] = {"/OE high before the bus is driven", false},
    [SHIFT_TO_LATCH] = {"last shift before a latch", false},
    [LATCH_PULSE] = {"latch high", false},
    [QUIET] = {"/CE high after a reset", false},
};

static struct {
    bool demanded, seen;
    double demand, worst;
    int breaches;
    const char *source;
} measured[MEASURES];

static struct {
    char what[80];
    double first_ns;
    int count;
} faults[16];
static int fault_kinds, fights;

void measure_demand(enum measure which, double ns, const char *source)
{
    measured[which].demanded = true;
    measured[which].demand = ns;
    measured[which].source = source;
}

void measure(enum measure which, double ns)
{
    bool most = kinds[which].is_most;
    if (!measured[which].seen || (most ? ns > measured[which].worst : ns < measured[which].worst))
        measured[which].worst = ns;
    measured[which].seen = true;
    if (measured[which].demanded && (most ? ns > measured[which].demand : ns < measured[which].demand))
        measured[which].breaches++;
}

void breach(const char *what)
{
    int i = 0;
    while (i < fault_kinds && strcmp(faults[i].what, what) != 0)
        i++;
    if (i == 16)
        return;
    if (i == fault_kinds) {
        snprintf(faults[i].what, sizeof faults[i].what, "%s", what);
        faults[i].first_ns = now_ns();
        fault_kinds++;
    }
    faults[i].count++;
}

void fight(const char *what)
{
    fights++;
    breach(what);
}

void measures_report(void)
{
    int breaches = 0;
    for (int i = 0; i < MEASURES; i++) {
        if (!measured[i].seen)
            continue;
        printf("time | %s | %.1f ns | ", kinds[i].name, measured[i].worst);
        if (measured[i].demanded)
            printf("%s %.0f ns, %s | %d\n", kinds[i].is_most ? "at most" : "at least", measured[i].demand,
                   measured[i].source, measured[i].breaches);
        else
            printf("no demand | 0\n");
        breaches += measured[i].breaches;
    }
    for (int i = 0; i < fault_kinds; i++) {
        printf("fault | %s | %d times, first after %.3f ms\n", faults[i].what, faults[i].count, faults[i].first_ns / 1e6);
        breaches += faults[i].count;
    }
    printf("fights %d\nbreaches %d\n", fights, breaches);
}
