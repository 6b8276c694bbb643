/* TXC0 polled: it tells when the last byte is out, and is cleared by writing one. */
#include <avr/io.h>

volatile uint8_t before, after_first, while_second, cleared, refused;

int main(void)
{
    DDRB = 0xff;
    UBRR0 = 3;
    UCSR0B = _BV(TXEN0);
    before = UCSR0A;
    UDR0 = 'a';
    UDR0 = 'b';
    refused = UCSR0A;
    UDR0 = 'x'; /* no room: the chip ignores it */
    while (!(UCSR0A & _BV(UDRE0))) {
    }
    after_first = UCSR0A; /* 'a' is out, 'b' has just begun */
    while (!(UCSR0A & _BV(TXC0))) {
    }
    PORTB = 1;
    while_second = UCSR0A;
    UCSR0A |= _BV(TXC0);
    cleared = UCSR0A;
    for (;;) {
    }
}
