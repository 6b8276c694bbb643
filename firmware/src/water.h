/* Four analog inputs: coolant in and out, skin, spare; hardware-notes/coolant.md. */
#ifndef WATER_H
#define WATER_H

#include <stdint.h>

/* main, once, interrupts off */
void water_init(void);

/* task: starts a burst of conversions when due, sends its sums when done */
void water_task(void);

/* interrupts off */
uint8_t water_has_work(void);

#endif
