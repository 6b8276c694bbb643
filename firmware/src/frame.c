#include "frame.h"

#include "assemble.h"
#include "tally.h"
#include "uart.h"

uint16_t frame_lines_dropped;
uint16_t frame_rx_bad_lines;

static uint16_t next_seq[WIRE_KINDS];
static assembler_t assembler;

void frame_spend(wire_kind_t kind, uint8_t lost)
{
    next_seq[kind] = (uint16_t)(next_seq[kind] + lost);
}

void frame_send(wire_message_t *message)
{
    char line[WIRE_LINE_MAX];
    message->seq = next_seq[message->kind]++;
    if (!uart_send(line, wire_encode(line, message))) {
        frame_lines_dropped = tally_add(frame_lines_dropped, 1);
    }
}

void frame_send_dated(wire_message_t *message)
{
    char line[WIRE_LINE_MAX];
    /* The tag needs no stamp to be known, so it goes first; the rest is written
     * while it travels. */
    message->kind = WIRE_TIME;
    message->as.time.tick_out = stamp_tick(uart_send_first('T'));
    message->seq = next_seq[WIRE_TIME]++;
    const uint8_t length = wire_encode(line, message);
    (void)uart_send(line + 1, (uint8_t)(length - 1U)); /* silent: there is room */
}

uint8_t frame_receive(wire_message_t *message, stamp_t *came, uint8_t *dated)
{
    while (uart_has_byte()) {
        const char byte = uart_take(came, dated);
        const assemble_t got = assemble_byte(&assembler, byte);
        if (got == ASSEMBLE_MORE) {
            continue;
        }
        const uint8_t length = assembler.length;
        assembler.length = 0;
        if (got == ASSEMBLE_LINE && wire_decode(assembler.line, length, message) == WIRE_OK) {
            return 1;
        }
        frame_rx_bad_lines = tally_add(frame_rx_bad_lines, 1);
    }
    return 0;
}
