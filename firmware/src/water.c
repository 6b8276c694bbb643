#include "water.h"

#include <avr/interrupt.h>
#include <avr/io.h>

#include "board.h"
#include "clock.h"
#include "every.h"
#include "frame.h"
#include "identity.h"

#define CHANNELS 4U
/* AVcc is the reference and feeds the dividers too: the result is a ratio. */
#define MUX_BASE _BV(REFS0)
/* Clock / 128: 125 kHz, within the 50 .. 200 kHz that 10 bits need. */
#define ADC_ON (_BV(ADEN) | _BV(ADIE) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0))

typedef struct {
    uint16_t sum;
    uint16_t least;
    uint16_t most;
} burst_t;

static burst_t bursts[CHANNELS]; /* isr while running, then task */
static uint8_t channel;          /* isr */
static uint8_t rounds;           /* isr: still to come */
static volatile uint8_t done;    /* isr sets, task clears */
static uint16_t ended_low;       /* isr, before done: a burst is shorter than a turn of the timer */
static uint8_t running;          /* task */
static uint32_t started;

void water_init(void)
{
    DIDR0 = _BV(ADC0D) | _BV(ADC1D) | _BV(ADC2D) | _BV(ADC3D);
}

/* One conversion of each channel in turn: the coolant's in and out, whose difference
 * matters, are 0.1 ms apart all the way. */
ISR(ADC_vect)
{
    const uint16_t value = ADC;
    const uint8_t n = channel;
    burst_t *const b = &bursts[n];
    b->sum += value;
    if (value < b->least) {
        b->least = value;
    }
    if (value > b->most) {
        b->most = value;
    }
    const uint8_t next = (n + 1U) & (CHANNELS - 1U);
    channel = next;
    if (next == 0 && --rounds == 0) {
        ended_low = TCNT1;
        done = 1;
        return;
    }
    ADMUX = (uint8_t)(MUX_BASE | next);
    ADCSRA = ADC_ON | _BV(ADSC);
}

static void start(uint32_t now)
{
    for (uint8_t i = 0; i < CHANNELS; i++) {
        bursts[i].sum = 0;
        bursts[i].least = 0xFFFFU;
        bursts[i].most = 0;
    }
    channel = 0;
    rounds = WIRE_WATER_SAMPLES;
    running = 1;
    started = now;
    ADMUX = MUX_BASE;
    ADCSRA = ADC_ON | _BV(ADSC);
}

static uint8_t spread(const burst_t *b)
{
    const uint16_t d = b->most - b->least;
    return d > 0xFFU ? 0xFFU : (uint8_t)d;
}

static void send(void)
{
    wire_message_t m;
    m.kind = WIRE_WATER;
    m.as.water.tick = started + ((uint16_t)(ended_low - (uint16_t)started) >> 1);
    m.as.water.in_sum = bursts[0].sum;
    m.as.water.out_sum = bursts[1].sum;
    m.as.water.skin_sum = bursts[2].sum;
    m.as.water.spare_sum = bursts[3].sum;
    m.as.water.in_spread = spread(&bursts[0]);
    m.as.water.out_spread = spread(&bursts[1]);
    m.as.water.skin_spread = spread(&bursts[2]);
    m.as.water.spare_spread = spread(&bursts[3]);
    frame_send(&m);
}

uint8_t water_has_work(void)
{
    return done;
}

void water_task(void)
{
    static every_t every;
    const uint32_t now = clock_now();
    if (done) {
        done = 0;
        running = 0;
        send();
    }
    if (!running && every_is_due(&every, now, identity_setting(WIRE_SET_WATER_PERIOD_MS))) {
        start(now);
    }
}
