/* Hot end: thermocouple converter on SPI, its word sent as it comes; hardware-notes/hot-end.md. */
#ifndef HOT_H
#define HOT_H

/* main, once, interrupts off */
void hot_init(void);

/* task: fetches and sends a word when due */
void hot_task(void);

#endif
