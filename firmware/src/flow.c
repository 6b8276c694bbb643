#include "flow.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/atomic.h>

#include "board.h"
#include "clock.h"
#include "every.h"
#include "frame.h"
#include "identity.h"

static volatile uint16_t pulses;  /* isr */
static volatile stamp_t pulse_at; /* isr */

void flow_init(void)
{
    DDRD &= (uint8_t)~_BV(FLOW_PIN);
    PORTD |= _BV(FLOW_PIN); /* pull-up: most meters pull down only */
    EICRA |= _BV(ISC11);    /* falling edge */
    EIFR = _BV(INTF1);
    EIMSK |= _BV(INT1);
}

ISR(INT1_vect)
{
    const stamp_t s = clock_stamp(TCNT1);
    pulse_at.low = s.low;
    pulse_at.high = s.high;
    pulses++;
}

void flow_task(void)
{
    static every_t every;
    wire_message_t m;
    stamp_t at;
    const uint32_t now = clock_now();
    if (!every_is_due(&every, now, identity_setting(WIRE_SET_FLOW_PERIOD_MS))) {
        return;
    }
    m.kind = WIRE_FLOW;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        at.low = pulse_at.low;
        at.high = pulse_at.high;
        m.as.flow.pulses = pulses;
    }
    m.as.flow.tick = now;
    m.as.flow.pulse_tick = stamp_tick(at);
    frame_send(&m);
}
