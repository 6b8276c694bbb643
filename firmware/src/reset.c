#include "reset.h"

#include <avr/io.h>
#include <avr/wdt.h>

#define PAINT 0xC5U

/* The linker's: first byte after the statics, and the stack's first byte. */
extern uint8_t _end;
extern uint8_t __stack;

/* Written before the statics are cleared, so it must not be one of them. */
static uint8_t cause __attribute__((section(".noinit")));

/* .init1: before anything is pushed. No stack, no statics, r1 is not yet zero. */
void paint_stack(void) __attribute__((naked, used, section(".init1")));
void paint_stack(void)
{
    __asm__ __volatile__(
        "ldi r30, lo8(_end)\n\t"
        "ldi r31, hi8(_end)\n\t"
        "ldi r24, %0\n\t"
        "ldi r25, hi8(__stack)\n"
        "1:\n\t"
        "st Z+, r24\n\t"
        "cpi r30, lo8(__stack)\n\t"
        "cpc r31, r25\n\t"
        "brlo 1b\n\t"
        "breq 1b\n\t" ::"M"(PAINT));
}

/* .init3: the watchdog that reset the chip is still running, at its shortest period;
 * it is stopped before main can be too slow for it. */
void keep_cause(void) __attribute__((naked, used, section(".init3")));
void keep_cause(void)
{
    cause = MCUSR;
    MCUSR = 0;
    wdt_disable();
}

uint8_t reset_cause(void)
{
    return cause;
}

uint16_t reset_stack_free_min(void)
{
    const uint8_t *p = &_end;
    while (p < &__stack && *p == PAINT) {
        p++;
    }
    return (uint16_t)(p - &_end);
}
