/* INT0, INT1 and a pin change, each unmasked while its bit of `unmask` is set. */
#include <avr/interrupt.h>
#include <avr/io.h>

#define NOINIT __attribute__((section(".noinit")))
volatile uint8_t sense NOINIT;  /* EICRA */
volatile uint8_t unmask NOINIT; /* EIMSK; bit 7: PCICR */
volatile uint8_t int0, int1, pcint1, order[8], served;
volatile uint8_t flags;

ISR(INT0_vect)
{
    int0++;
    order[served++ & 7] = 0;
}
ISR(INT1_vect)
{
    int1++;
    order[served++ & 7] = 1;
}
ISR(PCINT1_vect)
{
    pcint1++;
    order[served++ & 7] = 2;
}

int main(void)
{
    PCMSK1 = _BV(PCINT9); /* PC1 only */
    sei();
    for (;;) {
        EICRA = sense;
        cli();
        EIMSK = unmask & 3;
        PCICR = unmask & 0x80 ? _BV(PCIE1) : 0;
        sei();
        flags = EIFR;
    }
}
