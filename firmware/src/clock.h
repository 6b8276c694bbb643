/* Board time: timer 1 at clock / 8, 0.5 us a tick, extended to 32 bits and wraps. */
#ifndef CLOCK_H
#define CLOCK_H

#include <avr/io.h>
#include <stdint.h>

#include "extend.h"

/* A 32-bit tick in two halves: handlers do no 32-bit sums. */
typedef struct {
    uint16_t low;
    uint16_t high;
} stamp_t;

/* Written by the overflow handler only. */
extern volatile uint16_t clock_overflows;

/* main, once, interrupts off */
void clock_init(void);

/* task */
uint32_t clock_now(void);

/* task; tick and wraps of the same moment */
uint32_t clock_now_wraps(uint16_t *wraps);

/* any context */
static inline uint32_t stamp_tick(stamp_t s)
{
    return ((uint32_t)s.high << 16) | s.low;
}

/* isr, or interrupts off. `low` was read from TCNT1 or ICR1 just before. */
static inline stamp_t clock_stamp(uint16_t low)
{
    const stamp_t s = {low, extend_high(low, clock_overflows, TIFR1 & _BV(TOV1))};
    return s;
}

#endif
