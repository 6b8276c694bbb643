#include "peer.h"

#include <string.h>

#include <simavr/avr_adc.h>
#include <simavr/avr_uart.h>

static FILE *file;
static char what[160];
static avr_cycle_count_t at_cycle;
static bool ended;
static alarm_t next_action;

static void fetch(void)
{
    char line[200];
    unsigned long long cycle;
    if (!next_line(file, line, sizeof line)) {
        refuse("the script ends without an end line");
    }
    if (sscanf(line, "%llu %159[^\n]", &cycle, what) != 2) {
        refuse("script: %s: wanted a cycle and an action", line);
    }
    if (cycle < at_cycle) {
        refuse("script: %s: comes after cycle %llu", line, (unsigned long long)at_cycle);
    }
    at_cycle = cycle;
}

static void act(void)
{
    char port;
    int bit;
    int level;
    unsigned byte;
    unsigned channel;
    double volts;
    char cause[32];
    if (strcmp(what, "end") == 0) {
        ended = true;
    } else if (sscanf(what, "pin %c %d %d", &port, &bit, &level) == 3 && bit >= 0 && bit < 8) {
        pins_set(port, bit, level);
    } else if (sscanf(what, "rx %2x", &byte) == 1) {
        avr_raise_irq(avr_io_getirq(chip, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT), byte);
    } else if (sscanf(what, "adc %u %lf", &channel, &volts) == 2 && channel < 8) {
        avr_raise_irq(avr_io_getirq(chip, AVR_IOCTL_ADC_GETIRQ, (int)(ADC_IRQ_ADC0 + channel)), (uint32_t)(volts * 1000 + 0.5));
    } else if (sscanf(what, "reset %31s", cause) == 1) {
        resets_cause(cause);
    } else {
        refuse("script: %llu %s: no such action", (unsigned long long)at_cycle, what);
    }
}

static void do_due(void)
{
    do {
        act();
        if (ended) {
            return;
        }
        fetch();
    } while (at_cycle <= chip->cycle);
    alarm_set(&next_action, at_cycle, do_due);
}

void script_load(const char *path)
{
    file = open_input(path);
    fetch();
    alarm_set(&next_action, at_cycle, do_due);
}

bool script_ended(void)
{
    return ended;
}
