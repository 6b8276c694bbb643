/* What the flags of one conversion are: no registers, tested on the host. */
#ifndef JUDGE_H
#define JUDGE_H

#include <stdint.h>

/* A conversion that lies longer than this may already be the next one: a period at
 * 80 a second is 12.5 ms, and the converter's own oscillator is loose. */
#define JUDGE_LATE_MS 11U
#define JUDGE_SETTLE 4U

typedef struct {
    uint8_t settling; /* conversions still to be marked */
} judge_t;

/* any context. `raw` is the 24 bits as read, `ended_well` says that the line was low
 * before the first pulse and high after the last. Returns force.flags. */
uint8_t judge_conversion(judge_t *j, uint32_t raw, uint8_t ended_well, uint8_t late);

/* any context. Two's complement. */
static inline int32_t judge_count(uint32_t raw)
{
    return (raw & 0x800000UL) ? (int32_t)(raw | 0xFF000000UL) : (int32_t)raw;
}

#endif
