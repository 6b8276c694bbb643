/* Sends four bytes of EEPROM, writes their complements one further, sends how long a
 * write keeps EEPE set (units of 1024 cycles) and what is then read back. */
#include <avr/eeprom.h>
#include <avr/io.h>

#include "send.h"

static uint8_t read(uint16_t address)
{
    while (EECR & _BV(EEPE)) {
    }
    EEAR = address;
    EECR |= _BV(EERE);
    return EEDR;
}

int main(void)
{
    uart_on(0);
    TCCR1B = _BV(CS12) | _BV(CS10);
    for (uint16_t n = 0; n < 4; n++) {
        send(read(n));
    }
    for (uint16_t n = 0; n < 4; n++) {
        const uint8_t old = read(n);
        eeprom_write_byte((uint8_t *)(0x100 + n), (uint8_t)~old);
        const uint16_t start = TCNT1;
        while (EECR & _BV(EEPE)) {
        }
        send((uint8_t)(TCNT1 - start));
        send(read(0x100 + n));
    }
    send('.');
    for (;;) {
    }
}
