/* How long from an edge on INT0 to the first instruction of its handler, which shows
 * it on PB1: awake in a loop of two-cycle instructions, then asleep. */
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>

void INT0_vect(void) __attribute__((signal, naked, used));
void INT0_vect(void)
{
    __asm__ __volatile__("sbi %0, 1\n\tcbi %0, 1\n\tsbi %1, 0\n\treti" ::"I"(_SFR_IO_ADDR(PORTB)), "I"(_SFR_IO_ADDR(GPIOR0)));
}

int main(void)
{
    DDRB = _BV(1);
    EICRA = _BV(ISC01);
    EIMSK = _BV(INT0);
    sei();
    while (GPIOR0 == 0) {
    }
    set_sleep_mode(SLEEP_MODE_IDLE);
    for (;;) {
        sleep_mode();
    }
}
