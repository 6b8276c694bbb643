#include <avr/interrupt.h>
#include <avr/io.h>

volatile uint16_t first, second, left, clocks_first, clocks_second, held, freed, free_running[4];
volatile uint8_t runs, flag_cleared;

ISR(ADC_vect)
{
    if (runs < 4) {
        free_running[runs++] = ADC;
    } else {
        ADCSRA &= (uint8_t)~_BV(ADATE);
    }
}

static uint16_t convert(void)
{
    TCNT1 = 0;
    ADCSRA |= _BV(ADSC);
    while (ADCSRA & _BV(ADSC)) {
    }
    return TCNT1;
}

int main(void)
{
    TCCR1B = _BV(CS10);
    ADMUX = _BV(REFS0) | 3;
    ADCSRA = _BV(ADEN) | 7; /* clk/128 */
    clocks_first = convert();
    first = ADC;
    ADMUX = _BV(REFS0) | 4;
    clocks_second = convert();
    second = ADC;
    ADMUX = _BV(REFS0) | _BV(ADLAR) | 4;
    (void)convert();
    left = ADC;
    /* ADCL read: the pair stays whole while another conversion ends. */
    ADMUX = _BV(REFS0) | 3;
    (void)convert();
    uint8_t low = ADCL;
    ADMUX = _BV(REFS0) | 4;
    (void)convert();
    held = (uint16_t)(ADCH << 8) | low;
    (void)convert();
    freed = ADC;
    ADCSRA |= _BV(ADIF);
    flag_cleared = ADCSRA;
    ADMUX = _BV(REFS0) | 0;
    ADCSRA |= _BV(ADATE) | _BV(ADIE) | _BV(ADSC);
    sei();
    for (;;) {
    }
}
