#include "clock.h"

#include <avr/interrupt.h>
#include <util/atomic.h>

#include "board.h"

volatile uint16_t clock_overflows;
static volatile uint16_t wraps_seen;

void clock_init(void)
{
    TCCR1A = 0;
    /* Normal mode, clock / 8; capture on the falling edge, noise canceller on: it
     * dates every edge 4 cycles late (datasheet, input capture noise canceler). */
    TCCR1B = _BV(ICNC1) | _BV(CS11);
    /* An edge that came before the timer ran has no date. */
    TIFR1 = _BV(ICF1);
    TIMSK1 = _BV(TOIE1) | _BV(ICIE1);
}

ISR(TIMER1_OVF_vect)
{
    const uint16_t n = clock_overflows + 1U;
    clock_overflows = n;
    if (n == 0) {
        wraps_seen++;
    }
}

uint32_t clock_now(void)
{
    stamp_t s;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        s = clock_stamp(TCNT1);
    }
    return stamp_tick(s);
}

uint32_t clock_now_wraps(uint16_t *wraps)
{
    stamp_t s;
    uint16_t w;
    uint16_t before;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        s = clock_stamp(TCNT1);
        w = wraps_seen;
        before = clock_overflows;
    }
    /* The pending overflow that made s.high was the one that wraps 32 bits. */
    *wraps = (uint16_t)(w + (s.high < before ? 1U : 0U));
    return stamp_tick(s);
}
