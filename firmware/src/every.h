/* What is due every so many milliseconds. */
#ifndef EVERY_H
#define EVERY_H

#include <stdint.h>

#include "board.h"

typedef struct {
    uint32_t last; /* tick at which it was last due */
} every_t;

/* task. 1 once a period; the beat is kept, but periods that were slept through are
 * not made up for. */
static inline uint8_t every_is_due(every_t *e, uint32_t now, uint16_t period_ms)
{
    const uint32_t period = period_ms * TICKS_PER_MS;
    const uint32_t since = now - e->last;
    if (since < period) {
        return 0;
    }
    e->last = since < 2U * period ? e->last + period : now;
    return 1;
}

#endif
