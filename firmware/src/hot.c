#include "hot.h"

#include <avr/io.h>

#include "board.h"
#include "clock.h"
#include "every.h"
#include "frame.h"
#include "identity.h"

void hot_init(void)
{
    PORTB |= _BV(HOT_SELECT);
    /* PB3 is the SPI's own output, and unused; PB2 must be an output for a master. */
    DDRB |= _BV(HOT_SELECT) | _BV(HOT_CLOCK) | _BV(PB3);
    PORTB |= _BV(HOT_DATA); /* pull-up: a converter that is not there reads all ones, which is no valid word */
    SPCR = _BV(SPE) | _BV(MSTR) | _BV(SPR0); /* mode 0, clock / 16: 1 MHz of the 5 allowed */
}

static uint8_t exchange(void)
{
    SPDR = 0;
    while (!(SPSR & _BV(SPIF))) { /* 8 us */
    }
    return SPDR;
}

void hot_task(void)
{
    static every_t every;
    wire_message_t m;
    const uint32_t now = clock_now();
    /* Selecting the part stops its conversion, which takes up to 100 ms: the least
     * period allows for that. */
    if (!every_is_due(&every, now, identity_setting(WIRE_SET_HOT_PERIOD_MS))) {
        return;
    }
    m.kind = WIRE_HOT;
    m.as.hot.tick = now;
    m.as.hot.word = 0;
    PORTB &= (uint8_t)~_BV(HOT_SELECT);
    for (uint8_t i = 0; i < 4; i++) {
        m.as.hot.word = (m.as.hot.word << 8) | exchange();
    }
    PORTB |= _BV(HOT_SELECT);
    frame_send(&m);
}
