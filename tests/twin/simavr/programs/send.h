/* 250 000 baud, bytes sent by looking at UDRE0: nothing in it that two emulators could see differently. */
#ifndef SEND_H
#define SEND_H

#include <avr/io.h>

static inline void uart_on(uint8_t enables)
{
    UBRR0 = 3;
    UCSR0B = (uint8_t)(_BV(TXEN0) | enables);
}

static inline void send(uint8_t byte)
{
    while (!(UCSR0A & _BV(UDRE0))) {
    }
    UDR0 = byte;
}

/* Cycles, in 16 bits of timer 1 at clock / 1, which the program must have started. */
static inline void wait_cycles(uint16_t cycles)
{
    const uint16_t start = TCNT1;
    while ((uint16_t)(TCNT1 - start) < cycles) {
    }
}

#endif
