/* Handlers that show their first instruction on a pin; main spins in one-cycle instructions. */
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>

volatile uint8_t asleep __attribute__((section(".noinit")));

ISR(INT0_vect, ISR_NAKED)
{
    __asm__ __volatile__("sbi 0x05, 0\n\tcbi 0x05, 0\n\treti");
}
ISR(INT1_vect, ISR_NAKED)
{
    __asm__ __volatile__("sbi 0x05, 1\n\tcbi 0x05, 1\n\treti");
}

int main(void)
{
    DDRB = 3;
    EICRA = _BV(ISC01) | _BV(ISC11);
    EIMSK = _BV(INT0) | _BV(INT1);
    set_sleep_mode(SLEEP_MODE_IDLE);
    sleep_enable();
    sei();
    for (;;) {
        if (asleep) {
            sleep_cpu();
        }
        __asm__ __volatile__(".rept 1000\n\tnop\n\t.endr");
    }
}
