/* What the board says about itself: hello on request, status every second. */
#ifndef STATUS_H
#define STATUS_H

#include <stdint.h>

/* task */
void status_send_hello(void);

/* task: sends status when it is due */
void status_task(void);

/* task. One turn of the main loop took this long. */
void status_note_turn(uint16_t ticks);

#endif
