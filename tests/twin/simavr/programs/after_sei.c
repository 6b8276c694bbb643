/* How many instructions are executed between SEI and the handler of an interrupt that
 * was pending before it. */
#include <avr/interrupt.h>
#include <avr/io.h>

#include "send.h"

volatile uint8_t executed;

void TIMER1_OVF_vect(void) __attribute__((signal, naked, used));
void TIMER1_OVF_vect(void)
{
    __asm__ __volatile__("sts executed, r18\n\treti");
}

int main(void)
{
    uart_on(0);
    TCNT1 = 0xff00;
    TCCR1B = _BV(CS10);
    while (!(TIFR1 & _BV(TOV1))) {
    }
    TIMSK1 = _BV(TOIE1);
    executed = 0xff;
    __asm__ __volatile__("clr r18\n\tsei\n\tinc r18\n\tinc r18\n\tinc r18\n\tinc r18\n\tcli" ::: "r18");
    send(executed);
    for (;;) {
    }
}
