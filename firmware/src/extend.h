/* The one rule that makes 32 bits of a 16-bit timer, free of registers so that it
 * is tested on the host.
 *
 * `low` was read from the timer (or its capture register) at some moment; `high`
 * counts the overflows that the overflow handler has seen. While the overflow flag
 * is pending, one overflow is not yet in `high`. Whether it came before or after
 * `low` was taken shows in `low` itself, since no reader is ever 16 ms late:
 *
 *   low small:  ... FFFE FFFF | 0000 0001 ...      the overflow came first: high + 1
 *                          overflow   ^low
 *   low large:  ... FFFE FFFF | 0000 0001 ...      low came first: high as it is
 *                   ^low   overflow
 */
#ifndef EXTEND_H
#define EXTEND_H

#include <stdint.h>

/* Any context. 16-bit sums only: this runs in handlers. */
static inline uint16_t extend_high(uint16_t low, uint16_t high, uint8_t overflow_pending)
{
    return (overflow_pending && low < 0x8000U) ? (uint16_t)(high + 1U) : high;
}

#endif
