/* INT0, falling edge, while it is masked: is the edge remembered, how often is it
 * served, and does writing one to INTF0 forget it? Sends a letter a step. */
#include <avr/interrupt.h>
#include <avr/io.h>

#include "send.h"

static volatile uint8_t served;

ISR(INT0_vect)
{
    served++;
}

static void report(uint8_t step)
{
    send(step);
    send(EIFR & _BV(INTF0));
    send(served);
    served = 0;
}

int main(void)
{
    uart_on(0);
    TCCR1B = _BV(CS10);
    EICRA = _BV(ISC01);
    EIFR = _BV(INTF0);
    sei();
    /* Edges come at 20 000 and 25 000; masked until 40 000. */
    wait_cycles(40000);
    report('m');
    EIMSK = _BV(INT0);
    wait_cycles(1000);
    report('u');
    /* Masked again; an edge at 60 000; forgotten at about 72 000, then unmasked. */
    EIMSK = 0;
    wait_cycles(30000);
    report('M');
    EIFR = _BV(INTF0);
    report('f');
    EIMSK = _BV(INT0);
    wait_cycles(1000);
    report('U');
    /* Unmasked, interrupts off: an edge at 90 000 is served when they are back. */
    cli();
    wait_cycles(40000);
    report('c');
    sei();
    wait_cycles(1000);
    report('s');
    for (;;) {
    }
}
