/* Sleeps in idle unless the handler has left something to do: an edge that comes
 * between the look and the sleep must end the sleep, never be slept through. Each
 * piece of work sends its number. With SLEEP_THROUGH it has that fault: the look comes
 * with interrupts on. */
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>

#include "send.h"

static volatile uint8_t work;

ISR(INT0_vect)
{
    work++;
}

int main(void)
{
    uint8_t done = 0;
    uart_on(0);
    EICRA = _BV(ISC01);
    EIFR = _BV(INTF0);
    EIMSK = _BV(INT0);
    set_sleep_mode(SLEEP_MODE_IDLE);
    for (;;) {
        cli();
#ifdef SLEEP_THROUGH
        sei();
#endif
        if (work == done) {
            sleep_enable();
            sei();
            sleep_cpu();
            sleep_disable();
        }
        sei();
        while (done != work) {
            done++;
            send(done);
        }
    }
}
