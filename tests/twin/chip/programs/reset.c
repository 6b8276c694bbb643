/* Notes the cause of each reset in memory that resets keep. */
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/wdt.h>

#define NOINIT __attribute__((section(".noinit")))
volatile uint8_t causes[8] NOINIT, boots NOINIT, mode NOINIT;
volatile uint8_t wdt_after_boot NOINIT, ddr_after_boot NOINIT, cleared NOINIT, late NOINIT, stubborn NOINIT, warned NOINIT;
volatile uint16_t timer_after_boot NOINIT;

void early(void) __attribute__((naked, used, section(".init3")));
void early(void)
{
    ddr_after_boot = DDRB;
    wdt_after_boot = WDTCSR;
    timer_after_boot = TCNT1;
    MCUSR = 0xff; /* ones change nothing */
    causes[boots & 7] = MCUSR;
    if (MCUSR & _BV(WDRF)) {
        wdt_disable(); /* in vain: WDRF holds WDE set */
        stubborn = WDTCSR;
    }
    boots++;
    MCUSR = 0;
    wdt_disable();
    cleared = WDTCSR;
}

ISR(WDT_vect)
{
    warned++;
}

int main(void)
{
    DDRB = 0xff;
    PORTB = 1;
    TCCR1B = 1;
    if (mode == 1) {
        wdt_enable(WDTO_60MS);
    }
    if (mode == 2) { /* the change comes too late: nothing changes */
        WDTCSR = _BV(WDCE) | _BV(WDE);
        __asm__ __volatile__("nop\n\tnop\n\tnop\n\tnop\n\tnop");
        WDTCSR = _BV(WDE) | _BV(WDP2) | _BV(WDP0);
        late = WDTCSR;
    }
    if (mode == 3) { /* a warning, then a reset */
        wdt_enable(WDTO_60MS);
        WDTCSR |= _BV(WDIE);
        sei();
    }
    if (mode == 4) { /* fed for 200 ms, then left alone */
        wdt_enable(WDTO_60MS);
        for (uint8_t n = 0; n < 20; n++) {
            __builtin_avr_delay_cycles(160000);
            wdt_reset();
        }
    }
    for (;;) {
    }
}
