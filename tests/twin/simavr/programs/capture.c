/* Dates falling edges on ICP1 in 32 bits and sends each as four raw bytes, low byte
 * first, from a ring: the pattern the firmware uses, in a program of its own. With
 * WITHOUT_OVERFLOW_CHECK it has the fault that the pattern is there for. */
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>

#include "send.h"

#define RING 64U

static volatile uint16_t wraps;
static volatile uint32_t ring[RING];
static volatile uint8_t head;
static volatile uint8_t tail;

ISR(TIMER1_OVF_vect)
{
    wraps++;
}

ISR(TIMER1_CAPT_vect)
{
    const uint16_t low = ICR1;
    uint16_t high = wraps;
#ifndef WITHOUT_OVERFLOW_CHECK
    if ((TIFR1 & _BV(TOV1)) && low < 0x8000) {
        high++;
    }
#endif
    ring[head % RING] = ((uint32_t)high << 16) | low;
    head++;
}

int main(void)
{
    uart_on(0);
    TCCR1B = _BV(ICNC1) | _BV(CS11);
    TIMSK1 = _BV(TOIE1) | _BV(ICIE1);
    sei();
    for (;;) {
        cli();
        if (head == tail) {
            sleep_enable();
            sei();
            sleep_cpu();
            sleep_disable();
            continue;
        }
        sei();
        const uint32_t tick = ring[tail % RING];
        tail++;
        for (uint8_t shift = 0; shift < 32; shift = (uint8_t)(shift + 8)) {
            send((uint8_t)(tick >> shift));
        }
    }
}
