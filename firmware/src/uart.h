/* Bytes in and out, 250 000 baud 8N1, no meaning.
 *
 * Two rings whose sizes are powers of two; an index is written by one side only
 * and the other side's is read once into a local. A full ring drops the newest. */
#ifndef UART_H
#define UART_H

#include <stdint.h>

#include "clock.h"
#include "tally.h"

extern tally_t uart_overruns; /* bytes lost in the chip, or for want of room here */
extern tally_t uart_framings;

/* main, once, interrupts off */
void uart_init(void);

/* task; all or nothing: 0 when there is no room */
uint8_t uart_send(const char *bytes, uint8_t length);

/* task; nothing queued and nothing on the wire */
uint8_t uart_is_silent(void);

/* task, when silent. The byte starts to leave at the returned moment. */
stamp_t uart_send_first(char byte);

/* task, or interrupts off */
uint8_t uart_has_byte(void);

/* task; only when uart_has_byte(). For an LF *stamp is when it had come in, and
 * *dated is 0 if too many came at once to tell. */
char uart_take(stamp_t *stamp, uint8_t *dated);

#endif
