#include "answer.h"

#include "board.h"
#include "clock.h"
#include "frame.h"
#include "identity.h"
#include "settings.h"
#include "status.h"
#include "tally.h"
#include "uart.h"
#include "wheel.h"

/* A question that cannot be answered within this time is worth nothing: it is
 * dropped and counted, and the host asks again. */
#define PATIENCE_TICKS (50UL * TICKS_PER_MS)

static wire_message_t time_answer;
static uint8_t time_waits;
static uint8_t hello_waits; /* for a new id to be safe in EEPROM */

static void tell_setting(uint8_t key, uint8_t result)
{
    wire_message_t m;
    m.kind = WIRE_SETTING;
    m.as.setting.tick = clock_now();
    m.as.setting.key = key;
    m.as.setting.value = result == WIRE_SETTING_UNKNOWN_KEY ? 0 : identity_setting(key);
    m.as.setting.result = result;
    frame_send(&m);
}

static void set(uint8_t key, uint16_t value)
{
    const uint8_t result = identity_set(key, value);
    if (result == WIRE_SETTING_OK && key == WIRE_SET_PICKUP_EDGE) {
        wheel_set_edge((uint8_t)value);
    }
    tell_setting(key, result);
}

static void take(const wire_message_t *m, stamp_t came, uint8_t dated)
{
    switch (m->kind) {
    case WIRE_WHO:
        /* A board does not go by an id that a loss of power would make it forget. */
        if (!hello_waits) {
            status_send_hello();
        }
        break;
    case WIRE_ASK_TIME:
        if (dated) {
            time_answer.as.time.question = m->seq;
            time_answer.as.time.tick_in = stamp_tick(came);
            time_waits = 1;
        }
        break;
    case WIRE_SET:
        set(m->as.set.key, m->as.set.value);
        break;
    case WIRE_ASK_SETTING:
        tell_setting(m->as.ask_setting.key, settings_has(m->as.ask_setting.key) ? WIRE_SETTING_OK : WIRE_SETTING_UNKNOWN_KEY);
        break;
    case WIRE_GIVE_ID:
        if (m->as.give_id.word == WIRE_GIVE_ID_WORD) {
            (void)identity_take_id(m->as.give_id.board_id);
            hello_waits = 1;
        }
        break;
    default:
        /* A board's own message: some adapter echoes what we send. */
        frame_rx_bad_lines = tally_add(frame_rx_bad_lines, 1);
        break;
    }
}

void answer_task(void)
{
    wire_message_t m;
    stamp_t came;
    uint8_t dated = 0;
    while (frame_receive(&m, &came, &dated)) {
        take(&m, came, dated);
    }
    if (time_waits) {
        if (uart_is_silent()) {
            time_waits = 0;
            frame_send_dated(&time_answer);
        } else if (clock_now() - time_answer.as.time.tick_in > PATIENCE_TICKS) {
            time_waits = 0;
            frame_spend(WIRE_TIME, 1);
            frame_lines_dropped = tally_add(frame_lines_dropped, 1);
        }
    }
    if (hello_waits && identity_is_saved()) {
        hello_waits = 0;
        status_send_hello();
    }
}

uint8_t answer_is_waiting(void)
{
    return time_waits;
}
