#include "force.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/atomic.h>
#include <util/delay.h>

#include "board.h"
#include "clock.h"
#include "frame.h"
#include "judge.h"

/* Longer than any conversion and than the 400 ms that the part settles at 10 a second. */
#define TIMEOUT_TICKS (600UL * TICKS_PER_MS)

tally_t force_lost;
uint16_t force_desyncs;
uint16_t force_timeouts;

static volatile uint8_t ready;   /* set by the isr, cleared by the task with INT0 masked */
static volatile stamp_t ready_at; /* isr */
static judge_t judge = {JUDGE_SETTLE};
static uint32_t heard_last; /* when a conversion was last ready, or its lack last told */

void force_init(void)
{
    DDRD = (uint8_t)((DDRD | _BV(BRIDGE_CLOCK)) & ~_BV(BRIDGE_DATA));
    PORTD = (uint8_t)((PORTD & ~_BV(BRIDGE_CLOCK)) | _BV(BRIDGE_DATA));
    EICRA |= _BV(ISC01); /* falling edge */
    EIFR = _BV(INTF0);
    EIMSK |= _BV(INT0);
}

ISR(INT0_vect)
{
    const stamp_t s = clock_stamp(TCNT1);
    if (ready) {
        /* The last one was not fetched in time: the converter holds the new one now. */
        force_lost.in_handler++;
    }
    ready_at.low = s.low;
    ready_at.high = s.high;
    ready = 1;
}

uint8_t force_has_work(void)
{
    return ready;
}

/* One clock pulse. Interrupts are off for the pulse only: held high for 60 us the
 * part powers down, and a handler may take a third of that. */
static uint8_t pulse(void)
{
    uint8_t level;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        PORTD |= _BV(BRIDGE_CLOCK);
        __asm__ __volatile__("nop\n\tnop"); /* data is valid 0.1 us after the rise */
        level = PIND & _BV(BRIDGE_DATA);
        PORTD &= (uint8_t)~_BV(BRIDGE_CLOCK);
    }
    return level;
}

/* 24 bits, then the 25th pulse that asks for channel A at gain 128 again. */
static uint32_t fetch(uint8_t *ended_well)
{
    uint32_t raw = 0;
    const uint8_t low_before = !(PIND & _BV(BRIDGE_DATA));
    for (uint8_t bit = 0; bit < 24; bit++) {
        raw <<= 1;
        if (pulse()) {
            raw |= 1U;
        }
    }
    (void)pulse();
    /* Done well, the part lets go of the line until the next conversion. */
    *ended_well = low_before && (PIND & _BV(BRIDGE_DATA));
    return raw;
}

/* Out of step: held high for longer than 60 us the part resets itself. */
static void power_cycle(void)
{
    PORTD |= _BV(BRIDGE_CLOCK);
    _delay_us(70);
    PORTD &= (uint8_t)~_BV(BRIDGE_CLOCK);
}

static void send(uint32_t tick, int32_t count, uint8_t flags)
{
    wire_message_t m;
    m.kind = WIRE_FORCE;
    m.as.force.tick = tick;
    m.as.force.count = count;
    m.as.force.flags = flags;
    frame_send(&m);
}

static void fetch_and_send(void)
{
    uint8_t ended_well;
    stamp_t at;
    EIMSK &= (uint8_t)~_BV(INT0); /* the data line falls with every bit from here on */
    at.low = ready_at.low;
    at.high = ready_at.high;
    const uint32_t tick = stamp_tick(at);
    const uint8_t late = clock_now() - tick > JUDGE_LATE_MS * TICKS_PER_MS;
    const uint32_t raw = fetch(&ended_well);
    const uint8_t flags = judge_conversion(&judge, raw, ended_well, late);
    if (!ended_well) {
        force_desyncs = tally_add(force_desyncs, 1);
        power_cycle();
    }
    ready = 0;
    EIFR = _BV(INTF0);
    EIMSK |= _BV(INT0);
    heard_last = tick;
    frame_spend(WIRE_FORCE, tally_fold(&force_lost));
    send(tick, judge_count(raw), flags);
}

void force_task(void)
{
    if (ready) {
        fetch_and_send();
        return;
    }
    const uint32_t now = clock_now();
    if (now - heard_last > TIMEOUT_TICKS) {
        heard_last = now;
        force_timeouts = tally_add(force_timeouts, 1);
        judge.settling = JUDGE_SETTLE;
        send(now, 0, WIRE_FORCE_TIMEOUT);
    }
}
