#include <avr/io.h>

volatile uint8_t floating, pulled, driven, toggled, one_bit, pulled_off;

int main(void)
{
    floating = PINC & _BV(PC0);
    PORTC = _BV(PC0);
    pulled = PINC & _BV(PC0);
    MCUCR = _BV(PUD);
    pulled_off = PINC & _BV(PC0);
    MCUCR = 0;
    driven = PIND;         /* PD6 from outside */
    DDRB = 0x0f;
    PORTB = 0x05;
    PINB = 0x03;           /* toggles bits 0 and 1 of the port */
    toggled = PORTB;
    PINB |= _BV(PB3);      /* compiles to SBI: toggles bit 3 alone, whatever the others read */
    one_bit = PORTB;
    PORTD |= _BV(PD4);
    DDRD |= _BV(PD4);
    PORTD &= (uint8_t)~_BV(PD4);
    DDRD &= (uint8_t)~_BV(PD4);
    for (;;) {
    }
}
