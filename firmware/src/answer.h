/* What the host asked for. */
#ifndef ANSWER_H
#define ANSWER_H

#include <stdint.h>

/* task: takes what the host sent and answers it */
void answer_task(void);

/* interrupts off. An answer waits for the wire to fall silent: no sleep until then. */
uint8_t answer_is_waiting(void);

#endif
