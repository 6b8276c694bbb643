/* Load cell: the 24-bit bridge converter, hardware-notes/load-cell.md. */
#ifndef FORCE_H
#define FORCE_H

#include <stdint.h>

#include "tally.h"

extern tally_t force_lost; /* conversions that were ready but never fetched */
extern uint16_t force_desyncs;
extern uint16_t force_timeouts;

/* main, once, interrupts off */
void force_init(void);

/* task: fetches and sends a conversion that is ready; says so when none comes */
void force_task(void);

/* interrupts off */
uint8_t force_has_work(void);

#endif
