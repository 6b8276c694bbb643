#include "button.h"

#include <avr/interrupt.h>
#include <avr/io.h>

#include "board.h"
#include "clock.h"
#include "frame.h"

/* Contacts bounce for a few ms; a person presses no faster than this. */
#define OPEN_TICKS (30UL * TICKS_PER_MS)

enum { ARMED, PRESSED, HELD };

static volatile uint8_t state;      /* ARMED to PRESSED by the isr, the rest by the task */
static volatile stamp_t pressed_at; /* isr, when ARMED */
static uint32_t closed_last;        /* when the contact was last seen closed */

void button_init(void)
{
    DDRD &= (uint8_t)~_BV(BUTTON_PIN);
    PORTD |= _BV(BUTTON_PIN);
    PCMSK2 = _BV(PCINT21);
    PCICR = _BV(PCIE2);
}

ISR(PCINT2_vect)
{
    /* The first touch is the press; what follows is the contact bouncing. */
    if (state != ARMED || (PIND & _BV(BUTTON_PIN))) {
        return;
    }
    const stamp_t s = clock_stamp(TCNT1);
    pressed_at.low = s.low;
    pressed_at.high = s.high;
    state = PRESSED;
}

uint8_t button_has_work(void)
{
    return state == PRESSED;
}

void button_task(void)
{
    const uint8_t now_state = state;
    if (now_state == ARMED) {
        return;
    }
    const uint32_t now = clock_now();
    if (now_state == PRESSED) {
        wire_message_t m;
        stamp_t at;
        at.low = pressed_at.low;
        at.high = pressed_at.high;
        m.kind = WIRE_MARK;
        m.as.mark.tick = stamp_tick(at);
        closed_last = now;
        state = HELD;
        frame_send(&m);
    } else if (!(PIND & _BV(BUTTON_PIN))) {
        closed_last = now;
    } else if (now - closed_last > OPEN_TICKS) {
        state = ARMED;
    }
}
