/* Lines to messages and back. */
#ifndef FRAME_H
#define FRAME_H

#include <stdint.h>

#include "clock.h"
#include "wire.gen.h"

extern uint16_t frame_lines_dropped;
extern uint16_t frame_rx_bad_lines;

/* task. Queues the message, or counts it as dropped; its number is spent either way. */
void frame_send(wire_message_t *message);

/* task, when uart_is_silent(). Sends a time answer whose tick_out is the moment
 * that its first byte leaves. */
void frame_send_dated(wire_message_t *message);

/* task. Numbers that were spent on what was lost before it could be queued. */
void frame_spend(wire_kind_t kind, uint8_t lost);

/* task. 1 when a message from the host is whole; *came is when its LF came in,
 * valid if *dated. */
uint8_t frame_receive(wire_message_t *message, stamp_t *came, uint8_t *dated);

#endif
