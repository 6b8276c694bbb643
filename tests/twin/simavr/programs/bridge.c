/* Reads the bridge converter whenever its data line is low, 24 bits and the 25th
 * pulse, and sends the three bytes, high byte first, then whether the line went high. */
#include <avr/io.h>

#include "send.h"

#define DATA _BV(2)
#define CLOCK _BV(4)

static uint8_t pulse(void)
{
    PORTD |= CLOCK;
    __asm__ __volatile__("nop\n\tnop");
    const uint8_t level = (PIND & DATA) != 0;
    PORTD &= (uint8_t)~CLOCK;
    return level;
}

int main(void)
{
    uart_on(0);
    DDRD = CLOCK;
    for (;;) {
        while (PIND & DATA) {
        }
        for (uint8_t byte = 0; byte < 3; byte++) {
            uint8_t bits = 0;
            for (uint8_t bit = 0; bit < 8; bit++) {
                bits = (uint8_t)((bits << 1) | pulse());
            }
            send(bits);
        }
        (void)pulse();
        send((PIND & DATA) != 0);
    }
}
