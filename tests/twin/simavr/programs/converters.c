/* Every 2 ms: the thermocouple converter's 32 bits over SPI, four bytes, then the ADC's
 * reading of channel 3, two bytes, low byte first. */
#include <avr/io.h>

#include "send.h"

static uint8_t exchange(void)
{
    SPDR = 0;
    while (!(SPSR & _BV(SPIF))) {
    }
    return SPDR;
}

int main(void)
{
    uart_on(0);
    TCCR1B = _BV(CS11);
    PORTB = _BV(2);
    DDRB = _BV(2) | _BV(3) | _BV(5);
    SPCR = _BV(SPE) | _BV(MSTR) | _BV(SPR0);
    ADMUX = _BV(REFS0) | 3;
    ADCSRA = _BV(ADEN) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0);
    for (;;) {
        wait_cycles(4000);
        PORTB &= (uint8_t)~_BV(2);
        for (uint8_t n = 0; n < 4; n++) {
            send(exchange());
        }
        PORTB |= _BV(2);
        ADCSRA |= _BV(ADSC);
        while (ADCSRA & _BV(ADSC)) {
        }
        const uint16_t reading = ADC;
        send((uint8_t)reading);
        send((uint8_t)(reading >> 8));
    }
}
