/* Leaves the receiver alone for 16 ms, then empties it: status and byte, in pairs. */
#include <avr/io.h>

#include "send.h"

int main(void)
{
    uart_on(_BV(RXEN0));
    TCCR1B = _BV(CS11);
    for (;;) {
        wait_cycles(32000);
        while (UCSR0A & _BV(RXC0)) {
            const uint8_t status = UCSR0A & (_BV(DOR0) | _BV(FE0));
            const uint8_t byte = UDR0;
            send(status);
            send(byte);
        }
    }
}
