#include <avr/interrupt.h>
#include <avr/io.h>

volatile uint8_t answers[4], status_idle, status_done, status_cleared, collided, by_interrupt;

ISR(SPI_STC_vect)
{
    by_interrupt = SPDR;
}

int main(void)
{
    DDRB = _BV(PB0) | _BV(PB2) | _BV(PB3) | _BV(PB5);
    PORTB = _BV(PB2);
    SPCR = _BV(SPE) | _BV(MSTR) | _BV(SPR0); /* clk/16 */
    status_idle = SPSR;
    for (uint8_t n = 0; n < 4; n++) {
        PORTB &= (uint8_t)~_BV(PB2);
        PORTB |= _BV(PB0);
        SPDR = (uint8_t)(0x10 + n);
        while (!(SPSR & _BV(SPIF))) {
        }
        PORTB &= (uint8_t)~_BV(PB0);
        status_done = SPSR;
        answers[n] = SPDR;
        status_cleared = SPSR;
        PORTB |= _BV(PB2);
    }
    SPDR = 0x55;
    SPDR = 0x66;
    collided = SPSR;
    while (!(SPSR & _BV(SPIF))) {
    }
    (void)SPDR;
    SPCR |= _BV(SPIE);
    sei();
    SPDR = 0x77;
    for (;;) {
    }
}
