#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>

volatile uint8_t mode __attribute__((section(".noinit")));

int main(void)
{
    switch (mode) {
    case 0: TCCR0B = 1; break;
    case 1: TWCR = _BV(TWEN); break;
    case 2: TCCR1B = _BV(WGM12) | 1; break;
    case 3: set_sleep_mode(SLEEP_MODE_PWR_DOWN); sleep_mode(); break;
    case 4: UCSR0C = _BV(UPM01) | 6; break;
    case 5: PRR = _BV(PRUSART0); UCSR0B = _BV(TXEN0); break;
    case 6: SPCR = _BV(SPE); break;
    case 7: ADCSRB = 1; break;
    case 8: __asm__ __volatile__("spm"); break;
    default: PRR = 0xef; ACSR = _BV(ACD); TCCR0B = 0; break;
    }
    for (;;) {
    }
}
