#include "peer.h"

#include <simavr/avr_ioport.h>

#define PORTS 3
#define BITS 8

static const char port_name[PORTS] = {'B', 'C', 'D'};
/* From outside; everything idles high, as with pull-ups. */
static uint8_t level_outside[PORTS] = {0xff, 0x7f, 0xff};
static int8_t driven[PORTS][BITS];
static pin_listener_t listeners[PORTS][BITS];

static int index_of(char port)
{
    for (int p = 0; p < PORTS; p++) {
        if (port_name[p] == port) {
            return p;
        }
    }
    refuse("port %c: the chip has B, C and D", port);
}

static avr_irq_t *pin_irq(int p, int irq)
{
    return avr_io_getirq(chip, AVR_IOCTL_IOPORT_GETIRQ(port_name[p]), irq);
}

static void look(int p, uint8_t ddr, uint8_t out)
{
    for (int bit = 0; bit < BITS; bit++) {
        const int now = (ddr >> bit) & 1 ? (out >> bit) & 1 : -1;
        if (now == driven[p][bit]) {
            continue;
        }
        driven[p][bit] = (int8_t)now;
        if (now < 0) {
            continue;
        }
        say(LOG_OUT, "out %c %d %d", port_name[p], bit, now);
        if (listeners[p][bit] != NULL) {
            listeners[p][bit](now);
        }
    }
}

static avr_ioport_state_t state_of(int p)
{
    avr_ioport_state_t state;
    avr_ioctl(chip, AVR_IOCTL_IOPORT_GETSTATE(port_name[p]), &state);
    return state;
}

/* The new value is in the notice; the register itself may still hold the old one. */
static void out_written(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq;
    const int p = (int)(intptr_t)param;
    look(p, state_of(p).ddr, (uint8_t)value);
}

static void ddr_written(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq;
    const int p = (int)(intptr_t)param;
    look(p, (uint8_t)value, state_of(p).port);
}

/* Tells simavr what stands at the pins from outside, for when it works them out anew:
 * otherwise a pull-up would win over what drives the pin, at every write of the port. */
static void declare(int p)
{
    avr_ioport_external_t outside = {.name = port_name[p], .mask = 0xff, .value = level_outside[p]};
    avr_ioctl(chip, AVR_IOCTL_IOPORT_SET_EXTERNAL(port_name[p]), &outside);
}

void pins_connect(void)
{
    for (int p = 0; p < PORTS; p++) {
        for (int bit = 0; bit < BITS; bit++) {
            driven[p][bit] = -1;
        }
        avr_irq_register_notify(pin_irq(p, IOPORT_IRQ_REG_PORT), out_written, (void *)(intptr_t)p);
        avr_irq_register_notify(pin_irq(p, IOPORT_IRQ_DIRECTION_ALL), ddr_written, (void *)(intptr_t)p);
    }
    pins_repeat();
}

void pins_set(char port, int bit, int level)
{
    const int p = index_of(port);
    const uint8_t mask = (uint8_t)(1u << bit);
    level_outside[p] = (uint8_t)(level != 0 ? level_outside[p] | mask : level_outside[p] & ~mask);
    declare(p);
    if (driven[p][bit] < 0) {
        avr_raise_irq(pin_irq(p, IOPORT_IRQ_PIN0 + bit), level != 0);
    }
}

void pins_repeat(void)
{
    for (int p = 0; p < PORTS; p++) {
        look(p, state_of(p).ddr, state_of(p).port);
        declare(p);
        for (int bit = 0; bit < BITS; bit++) {
            if (driven[p][bit] < 0) {
                avr_raise_irq(pin_irq(p, IOPORT_IRQ_PIN0 + bit), (level_outside[p] >> bit) & 1);
            }
        }
    }
}

int pins_driven(char port, int bit)
{
    return driven[index_of(port)][bit];
}

void pins_listen(char port, int bit, pin_listener_t listener)
{
    listeners[index_of(port)][bit] = listener;
}
