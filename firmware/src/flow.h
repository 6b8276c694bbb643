/* Coolant flow meter: pulses counted, the last one dated; hardware-notes/coolant.md. */
#ifndef FLOW_H
#define FLOW_H

/* main, once, interrupts off */
void flow_init(void);

/* task: tells count and last pulse when due */
void flow_task(void);

#endif
