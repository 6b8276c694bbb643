/* Push-button or foot pedal: one dated mark a press; hardware-notes/button.md. */
#ifndef BUTTON_H
#define BUTTON_H

#include <stdint.h>

/* main, once, interrupts off */
void button_init(void);

/* task: tells a press, and waits for the contacts to settle after it */
void button_task(void);

/* interrupts off */
uint8_t button_has_work(void);

#endif
