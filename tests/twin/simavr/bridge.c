/* The bridge converter: data on PD2, clock on PD4, as README.md defines it. */
#include "peer.h"

#define PULSES 25
/* A new conversion over an unread one shows as a short high. */
#define RENEWAL_CYCLES 16

static FILE *file;
static avr_cycle_count_t ready_cycle;
static long count;
static uint32_t word;
static int pulses = PULSES;
static alarm_t conversion;
static alarm_t renewal;

static void data(int level)
{
    pins_set('D', 2, level);
}

static void renewed(void)
{
    if (pulses == 0) {
        data(0);
    }
}

static void fetch(void);

static void ready(void)
{
    if (pulses > 0 && pulses < PULSES) {
        say(LOG_BRIDGE, "bridge missed");
    } else {
        const bool unread = pulses == 0;
        word = (uint32_t)count & 0xffffffu;
        pulses = 0;
        data(unread);
        if (unread) {
            alarm_set(&renewal, chip->cycle + RENEWAL_CYCLES, renewed);
        }
    }
    fetch();
}

static void fetch(void)
{
    char line[200];
    unsigned long long cycle;
    if (!next_line(file, line, sizeof line)) {
        return;
    }
    if (sscanf(line, "%llu %ld", &cycle, &count) != 2 || cycle < ready_cycle) {
        refuse("bridge: %s: wanted a cycle after the last and a count", line);
    }
    ready_cycle = cycle;
    alarm_set(&conversion, ready_cycle, ready);
}

static void clocked(int level)
{
    if (level != 1 || pulses >= PULSES) {
        return;
    }
    pulses++;
    data(pulses == PULSES || ((word >> (24 - pulses)) & 1) != 0);
}

void bridge_load(const char *path)
{
    file = open_input(path);
    pins_listen('D', 4, clocked);
    fetch();
}
