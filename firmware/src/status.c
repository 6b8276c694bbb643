#include "status.h"

#include "board.h"
#include "clock.h"
#include "every.h"
#include "force.h"
#include "frame.h"
#include "identity.h"
#include "reset.h"
#include "uart.h"
#include "wheel.h"

#define PERIOD_MS 1000U

static every_t every;
static uint16_t longest_turn;

void status_note_turn(uint16_t ticks)
{
    if (ticks > longest_turn) {
        longest_turn = ticks;
    }
}

void status_send_hello(void)
{
    wire_message_t m;
    m.kind = WIRE_HELLO;
    m.as.hello.schema_hash = WIRE_SCHEMA_HASH;
    m.as.hello.firmware = FIRMWARE_VERSION;
    m.as.hello.clock_Hz = F_CPU;
    m.as.hello.cycles_per_tick = WIRE_CYCLES_PER_TICK;
    m.as.hello.reset_cause = reset_cause();
    m.as.hello.board_id = identity_board_id();
    m.as.hello.boot_count = identity_boot_count();
    m.as.hello.tick = clock_now_wraps(&m.as.hello.wraps);
    frame_send(&m);
}

void status_task(void)
{
    wire_message_t m;
    const uint32_t now = clock_now_wraps(&m.as.status.wraps);
    if (!every_is_due(&every, now, PERIOD_MS)) {
        return;
    }
    (void)tally_fold(&uart_overruns);
    (void)tally_fold(&uart_framings);
    m.kind = WIRE_STATUS;
    m.as.status.tick = now;
    m.as.status.lines_dropped = frame_lines_dropped;
    m.as.status.edges_lost = wheel_lost.total;
    m.as.status.captures_overrun = wheel_overruns.total;
    m.as.status.forces_lost = force_lost.total;
    m.as.status.bridge_desyncs = force_desyncs;
    m.as.status.bridge_timeouts = force_timeouts;
    m.as.status.rx_overruns = uart_overruns.total;
    m.as.status.rx_framings = uart_framings.total;
    m.as.status.rx_bad_lines = frame_rx_bad_lines;
    m.as.status.loop_max = longest_turn;
    m.as.status.stack_free_min = reset_stack_free_min();
    m.as.status.eeprom_state = identity_eeprom_state();
    longest_turn = 0;
    frame_send(&m);
}
