/* Receives nothing until PD7 goes low, then empties the receiver, status first. */
#include <avr/io.h>

volatile uint8_t bytes[16], errors[16];
volatile uint8_t count;

int main(void)
{
    UBRR0 = 3;
    UCSR0B = _BV(RXEN0);
    for (;;) {
        while (PIND & _BV(PD7)) {
        }
        while (UCSR0A & _BV(RXC0)) {
            errors[count & 15] = UCSR0A & (_BV(DOR0) | _BV(FE0));
            bytes[count & 15] = UDR0;
            count++;
        }
    }
}
