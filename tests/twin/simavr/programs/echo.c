/* Receives by interrupt and sends back by the data-register-empty interrupt, with the
 * textbook handler that switches itself off only when it finds the ring empty, while
 * the main program writes UCSR0A and UCSR0B all the time. A greeting of 64 bytes first.
 * The two nops are for simavr, which serves an interrupt one instruction later after SEI. */
#include <avr/interrupt.h>
#include <avr/io.h>

#include "send.h"

static volatile uint8_t ring[256];
static volatile uint8_t head;
static volatile uint8_t tail;

static void put(uint8_t byte)
{
    ring[head] = byte;
    head++;
    UCSR0B |= _BV(UDRIE0);
}

ISR(USART_RX_vect)
{
    put(UDR0);
}

ISR(USART_UDRE_vect)
{
    if (head == tail) {
        UCSR0B &= (uint8_t)~_BV(UDRIE0);
        return;
    }
    UDR0 = ring[tail];
    tail++;
}

int main(void)
{
    uart_on(_BV(RXEN0) | _BV(RXCIE0));
    for (uint8_t n = 0; n < 64; n++) {
        put(n);
    }
    sei();
    for (;;) {
        cli();
        UCSR0A = _BV(TXC0);
        UCSR0B = UCSR0B;
        sei();
        __asm__ __volatile__("nop\n\tnop");
    }
}
