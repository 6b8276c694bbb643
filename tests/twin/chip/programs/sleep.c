/* Sleeps unless the handler has left something to do: the race of sei and sleep. */
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>

volatile uint8_t handled, worked;
static volatile uint8_t flag;

ISR(INT0_vect)
{
    PORTB = 1;
    flag = 1;
    handled++;
    PORTB = 0;
}

int main(void)
{
    DDRB = 1;
    EICRA = _BV(ISC01);
    EIMSK = _BV(INT0);
    set_sleep_mode(SLEEP_MODE_IDLE);
    for (;;) {
        cli();
        if (flag) {
            flag = 0;
            sei();
            worked++;
        } else {
            sleep_enable();
            sei();
            sleep_cpu();
            sleep_disable();
        }
    }
}
