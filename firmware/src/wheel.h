/* Shaft pickup: edges dated by the capture unit, hardware-notes/hall-pickup.md. */
#ifndef WHEEL_H
#define WHEEL_H

#include <stdint.h>

#include "tally.h"

extern tally_t wheel_lost;     /* edges for which the queue had no room */
extern tally_t wheel_overruns; /* edges that came before the last was fetched */

/* main, once, interrupts off */
void wheel_init(void);

/* task. Which edge counts, a value of WIRE_SET_PICKUP_EDGE. */
void wheel_set_edge(uint8_t rising);

/* task: sends what has come */
void wheel_task(void);

/* interrupts off */
uint8_t wheel_has_work(void);

#endif
