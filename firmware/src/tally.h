/* Loss counters. A handler only ever adds one to a byte; the task folds what came
 * since its last look into 16 bits that stop at FFFF. */
#ifndef TALLY_H
#define TALLY_H

#include <stdint.h>

/* any context */
static inline uint16_t tally_add(uint16_t total, uint8_t more)
{
    const uint16_t sum = (uint16_t)(total + more);
    return sum < total ? 0xFFFFU : sum;
}

typedef struct {
    volatile uint8_t in_handler; /* written by the handler */
    uint8_t seen;                /* the rest by the task */
    uint16_t total;
} tally_t;

/* task; returns how many are new. A byte is enough: the task looks every few ms. */
static inline uint8_t tally_fold(tally_t *t)
{
    const uint8_t now = t->in_handler;
    const uint8_t more = (uint8_t)(now - t->seen);
    t->seen = now;
    t->total = tally_add(t->total, more);
    return more;
}

#endif
