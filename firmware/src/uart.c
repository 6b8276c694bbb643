#include "uart.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/atomic.h>

#include "board.h"

#define RX_SIZE 64U
#define STAMPS 4U
_Static_assert((RX_SIZE & (RX_SIZE - 1U)) == 0 && (STAMPS & (STAMPS - 1U)) == 0, "powers of two");

tally_t uart_overruns;
tally_t uart_framings;

static char tx_ring[256]; /* a uint8_t index wraps by itself */
static volatile uint8_t tx_head; /* task */
static volatile uint8_t tx_tail; /* isr */
static uint8_t ever_sent;

static char rx_ring[RX_SIZE];
static volatile uint8_t rx_head; /* isr */
static volatile uint8_t rx_tail; /* task */
/* When each LF came in, by its number. */
static volatile stamp_t lf_stamps[STAMPS]; /* isr */
static volatile uint8_t lf_in;             /* isr */
static uint8_t lf_out;                     /* task */

void uart_init(void)
{
    UBRR0 = (uint16_t)UBRR_VALUE;
    UCSR0A = 0;
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UCSR0B = _BV(RXCIE0) | _BV(RXEN0) | _BV(TXEN0);
}

ISR(USART_RX_vect)
{
    /* The error flags belong to the byte at the head of the FIFO: read them first. */
    const uint8_t status = UCSR0A;
    char byte = (char)UDR0;
    const uint8_t head = rx_head;
    const uint8_t next = (uint8_t)((head + 1U) & (RX_SIZE - 1U));
    if (next == rx_tail) {
        uart_overruns.in_handler++;
        return;
    }
    if (status & (_BV(FE0) | _BV(DOR0))) {
        /* The line is spoilt; an LF that may be none must not be dated as one. */
        if (status & _BV(FE0)) {
            uart_framings.in_handler++;
        } else {
            uart_overruns.in_handler++;
        }
        byte = '\0';
    } else if (byte == '\n') {
        const stamp_t s = clock_stamp(TCNT1);
        const uint8_t n = lf_in;
        volatile stamp_t *const to = &lf_stamps[n & (STAMPS - 1U)];
        to->low = s.low;
        to->high = s.high;
        lf_in = (uint8_t)(n + 1U);
    }
    rx_ring[head] = byte;
    rx_head = next;
}

ISR(USART_UDRE_vect)
{
    const uint8_t tail = tx_tail;
    UDR0 = (uint8_t)tx_ring[tail];
    /* After the byte, never before: TXC0 is then set only once the wire falls silent. */
    UCSR0A = _BV(TXC0);
    const uint8_t next = (uint8_t)(tail + 1U);
    tx_tail = next;
    if (next == tx_head) {
        UCSR0B = _BV(RXCIE0) | _BV(RXEN0) | _BV(TXEN0);
    }
}

uint8_t uart_send(const char *bytes, uint8_t length)
{
    uint8_t head = tx_head;
    const uint8_t used = (uint8_t)(head - tx_tail);
    if (length > 255U - used) {
        return 0;
    }
    for (; length > 0; length--) {
        tx_ring[head++] = *bytes++;
    }
    ever_sent = 1;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        tx_head = head;
        UCSR0B = _BV(RXCIE0) | _BV(UDRIE0) | _BV(RXEN0) | _BV(TXEN0);
    }
    return 1;
}

uint8_t uart_is_silent(void)
{
    return tx_head == tx_tail && (!ever_sent || (UCSR0A & _BV(TXC0)));
}

stamp_t uart_send_first(char byte)
{
    stamp_t s;
    ever_sent = 1;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        s = clock_stamp(TCNT1);
        UDR0 = (uint8_t)byte;
        UCSR0A = _BV(TXC0);
    }
    return s;
}

uint8_t uart_has_byte(void)
{
    return rx_head != rx_tail;
}

char uart_take(stamp_t *stamp, uint8_t *dated)
{
    const uint8_t tail = rx_tail;
    const char byte = rx_ring[tail];
    rx_tail = (uint8_t)((tail + 1U) & (RX_SIZE - 1U));
    if (byte == '\n') {
        ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
        {
            const volatile stamp_t *const from = &lf_stamps[lf_out & (STAMPS - 1U)];
            stamp->low = from->low;
            stamp->high = from->high;
            *dated = (uint8_t)(lf_in - lf_out) <= STAMPS;
        }
        lf_out++;
    }
    return byte;
}
