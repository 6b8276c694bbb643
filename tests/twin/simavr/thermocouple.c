/* The thermocouple converter: 32 bits on SPI, selected by PB2 low. */
#include "peer.h"

#include <simavr/avr_spi.h>

static FILE *file;
static uint32_t word;
static uint32_t word_next;
static uint32_t shift;
static avr_cycle_count_t change_cycle;
static alarm_t change;

static void fetch(void);

static void changed(void)
{
    word = word_next;
    fetch();
}

static void fetch(void)
{
    char line[200];
    unsigned long long cycle;
    if (!next_line(file, line, sizeof line)) {
        return;
    }
    if (sscanf(line, "%llu %x", &cycle, &word_next) != 2 || cycle < change_cycle) {
        refuse("spi: %s: wanted a cycle after the last and a word of 8 hexadecimal digits", line);
    }
    change_cycle = cycle;
    alarm_set(&change, cycle, changed);
}

static void selected(int level)
{
    if (level == 0) {
        shift = word;
    }
}

static void exchanged(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq;
    (void)value;
    (void)param;
    uint32_t byte = 0xff;
    if (pins_driven('B', 2) == 0) {
        byte = shift >> 24;
        shift <<= 8;
    }
    avr_raise_irq(avr_io_getirq(chip, AVR_IOCTL_SPI_GETIRQ(0), SPI_IRQ_INPUT), byte);
}

void thermocouple_load(const char *path)
{
    file = open_input(path);
    pins_listen('B', 2, selected);
    avr_irq_register_notify(avr_io_getirq(chip, AVR_IOCTL_SPI_GETIRQ(0), SPI_IRQ_OUTPUT), exchanged, NULL);
    fetch();
}
