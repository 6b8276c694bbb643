/* After each start sends: 'R', MCUSR, DDRB, WDTCSR, and four bytes of memory that no
 * start-up code clears; then counts itself up there, and lets the watchdog bite. The
 * fourth start stays awake with the watchdog off. */
#include <avr/io.h>
#include <avr/wdt.h>

#include "send.h"

#define NOINIT __attribute__((section(".noinit")))

static uint8_t kept[4] NOINIT;
static uint8_t cause NOINIT;
static uint8_t ddr NOINIT;
static uint8_t control NOINIT;

void early(void) __attribute__((naked, used, section(".init3")));
void early(void)
{
    cause = MCUSR;
    ddr = DDRB;
    control = WDTCSR;
    MCUSR = 0;
    wdt_disable();
}

int main(void)
{
    uart_on(0);
    if (cause & (_BV(PORF) | _BV(BORF))) {
        kept[0] = 0;
        kept[1] = 0x5A;
        kept[2] = 0xA5;
        kept[3] = 0xC3;
    }
    send('R');
    send(cause);
    send(ddr);
    send(control);
    for (uint8_t n = 0; n < 4; n++) {
        send(kept[n]);
    }
    kept[0]++;
    DDRB = 0x20;
    if (kept[0] < 4) {
        wdt_enable(WDTO_15MS);
    }
    for (;;) {
    }
}
