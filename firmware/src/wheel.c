#include "wheel.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/atomic.h>

#include "board.h"
#include "clock.h"
#include "frame.h"

/* 2.5 ms apart at full rate: 32 are 80 ms of a task that does not come round. */
#define RING 32U
_Static_assert((RING & (RING - 1U)) == 0, "a power of two");

tally_t wheel_lost;
tally_t wheel_overruns;

static stamp_t ring[RING];
static volatile uint8_t head; /* isr */
static volatile uint8_t tail; /* task */

void wheel_init(void)
{
    DDRB &= (uint8_t)~_BV(HALL_PIN);
    PORTB |= _BV(HALL_PIN); /* pull-up: the switch pulls down only */
}

void wheel_set_edge(uint8_t rising)
{
    /* Turning the edge round may itself look like one (datasheet, input capture unit). */
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        TCCR1B = (uint8_t)((TCCR1B & ~_BV(ICES1)) | (rising ? _BV(ICES1) : 0));
        TIFR1 = _BV(ICF1);
    }
}

ISR(TIMER1_CAPT_vect)
{
    const uint16_t low = ICR1;
    if (TIFR1 & _BV(ICF1)) {
        wheel_overruns.in_handler++;
    }
    const uint8_t at = head;
    const uint8_t next = (uint8_t)((at + 1U) & (RING - 1U));
    if (next == tail) {
        wheel_lost.in_handler++;
        return;
    }
    ring[at] = clock_stamp(low);
    head = next;
}

uint8_t wheel_has_work(void)
{
    return head != tail;
}

void wheel_task(void)
{
    uint8_t at = tail;
    while (at != head) {
        wire_message_t m;
        m.kind = WIRE_EDGE;
        m.as.edge.tick = stamp_tick(ring[at]);
        at = (uint8_t)((at + 1U) & (RING - 1U));
        tail = at;
        frame_send(&m);
    }
    frame_spend(WIRE_EDGE, tally_fold(&wheel_lost));
    (void)tally_fold(&wheel_overruns);
}
