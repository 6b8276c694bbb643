#include <avr/eeprom.h>
#include <avr/interrupt.h>
#include <avr/io.h>

#define NOINIT __attribute__((section(".noinit")))
volatile uint8_t mode NOINIT;
volatile uint8_t read, too_late, ready;
volatile uint16_t halt_read, halt_write;

ISR(EE_READY_vect)
{
    ready++;
    EECR &= (uint8_t)~_BV(EERIE);
}

static void start(uint16_t address, uint8_t value)
{
    EEAR = address;
    EEDR = value;
    __asm__ __volatile__("sbi 0x1f, 2\n\tsbi 0x1f, 1");
}

int main(void)
{
    DDRB = 1;
    if (mode == 0) {
        TCCR1B = _BV(CS10);
        TCNT1 = 0;
        EEAR = 5;
        uint16_t t0 = TCNT1;
        __asm__ __volatile__("sbi 0x1f, 0");
        halt_read = (uint16_t)(TCNT1 - t0);
        read = EEDR;
        EEAR = 0x3ff;
        EEDR = 0xa5;
        t0 = TCNT1;
        __asm__ __volatile__("sbi 0x1f, 2\n\tsbi 0x1f, 1");
        halt_write = (uint16_t)(TCNT1 - t0);
        PORTB = 1;
        while (EECR & _BV(EEPE)) {
        }
        PORTB = 0;
        EEAR = 0x10;
        EEDR = 0x77;
        __asm__ __volatile__("sbi 0x1f, 2\n\tnop\n\tnop\n\tnop\n\tnop\n\tsbi 0x1f, 1");
        too_late = EECR & _BV(EEPE);
        start(0x20, 0x11);
        EECR |= _BV(EERIE);
        sei();
    } else if (mode == 1) {
        start(0x30, 0x42);
    }
    for (;;) {
    }
}
