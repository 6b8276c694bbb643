/* Dates edges on ICP1 in 32 bits, with the overflow race handled as one does. */
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>

#define NOINIT __attribute__((section(".noinit")))

volatile uint8_t control NOINIT; /* TCCR1B */
volatile uint8_t hold NOINIT;    /* interrupts stay off */
volatile uint8_t doze NOINIT;    /* sleeps between them */
volatile uint32_t stamps[128];
volatile uint8_t count;
static volatile uint16_t wraps;

ISR(TIMER1_OVF_vect)
{
    wraps++;
}

ISR(TIMER1_CAPT_vect)
{
    const uint16_t low = ICR1;
    uint16_t high = wraps;
    if ((TIFR1 & _BV(TOV1)) && low < 0x8000) {
        high++;
    }
    stamps[count & 127] = ((uint32_t)high << 16) | low;
    count++;
}

int main(void)
{
    TCNT1 = 0;
    TCCR1B = control;
    TIFR1 = 0xff;
    TIMSK1 = _BV(ICIE1) | _BV(TOIE1);
    for (;;) {
        if (hold) {
            cli();
        } else {
            sei();
        }
        if (doze) {
            sleep_mode();
        }
    }
}
