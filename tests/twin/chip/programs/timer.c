/* What can be told of Timer1 from straight-line code. */
#include <avr/interrupt.h>
#include <avr/io.h>

volatile uint16_t whole;        /* TCNT1, low byte first */
volatile uint8_t stale_high;    /* TCNT1H after ICR1L was read in between */
volatile uint8_t flags_before, flags_after, flags_none;
volatile uint16_t at_compare, at_wrap; /* counts when the flags were first seen, 64 cycles each */
volatile uint16_t elapsed[5];   /* counts in 4096 cycles for each divisor */
volatile uint8_t done;

#define WAIT_4096() __builtin_avr_delay_cycles(4096)

int main(void)
{
    /* 0x12ff with a carry due between the two reads: still one value. */
    TCCR1B = _BV(CS10);
    TCNT1 = 0x12fb;
    uint8_t low = TCNT1L;
    __asm__ __volatile__("nop\n\tnop\n\tnop\n\tnop\n\tnop\n\tnop");
    uint8_t high = TCNT1H;
    whole = (uint16_t)(high << 8) | low;

    /* ICR1 is 0: its high byte goes through the same TEMP. */
    TCCR1B = 0;
    TCNT1 = 0x3456;
    (void)TCNT1L;
    (void)ICR1L;
    stale_high = TCNT1H;

    TIFR1 = 0xff;
    flags_none = TIFR1;
    OCR1A = 5;
    OCR1B = 0x8000;
    TCNT1 = 0xfffe;
    TCCR1B = _BV(CS10);
    __asm__ __volatile__("nop\n\tnop\n\tnop\n\tnop\n\tnop\n\tnop\n\tnop\n\tnop\n\tnop\n\tnop");
    flags_before = TIFR1;
    TIFR1 = _BV(TOV1);
    flags_after = TIFR1;

    TCCR1B = 0;
    TIFR1 = 0xff;
    OCR1A = 1000;
    TCNT1 = 990;
    TCCR1B = _BV(CS11) | _BV(CS10);
    while (!(TIFR1 & _BV(OCF1A))) {
    }
    at_compare = TCNT1;
    TCNT1 = 0xfff8;
    while (!(TIFR1 & _BV(TOV1))) {
    }
    at_wrap = TCNT1;

    for (uint8_t select = 1; select <= 5; select++) {
        TCCR1B = 0;
        TCNT1 = 0;
        TCCR1B = select;
        WAIT_4096();
        TCCR1B = 0;
        elapsed[select - 1] = TCNT1;
    }
    done = 1;
    for (;;) {
    }
}
