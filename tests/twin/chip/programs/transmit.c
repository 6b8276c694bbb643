/* The textbook transmit ring, with the main program writing control registers all the while. */
#include <avr/interrupt.h>
#include <avr/io.h>

static volatile uint8_t ring[64];
static volatile uint8_t head, tail;
volatile uint8_t completes;   /* entries of the TX complete handler */
volatile uint8_t received;

ISR(USART_UDRE_vect)
{
    if (head == tail) {
        UCSR0B &= (uint8_t)~_BV(UDRIE0);
    } else {
        UDR0 = ring[tail & 63];
        tail++;
    }
}

ISR(USART_TX_vect)
{
    completes++;
}

ISR(USART_RX_vect)
{
    received = UDR0;
}

static void put(uint8_t byte)
{
    while ((uint8_t)(head - tail) == 64) {
    }
    ring[head & 63] = byte;
    head++;
    cli();
    UCSR0B |= _BV(UDRIE0);
    sei();
}

int main(void)
{
    UBRR0 = 7;
    UCSR0A = _BV(U2X0);
    UCSR0B = _BV(TXEN0) | _BV(RXEN0) | _BV(TXCIE0) | _BV(RXCIE0);
    sei();
    for (uint16_t n = 0; n < 300; n++) {
        put((uint8_t)n);
        cli();
        UCSR0B &= (uint8_t)~_BV(RXCIE0);
        UCSR0B |= _BV(RXCIE0);
        sei();
    }
    for (;;) {
    }
}
