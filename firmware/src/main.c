/* smallbrake sensor board: reports counts and ticks, never meanings. */
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>
#include <avr/wdt.h>

#include "answer.h"
#include "clock.h"
#include "force.h"
#include "identity.h"
#include "status.h"
#include "uart.h"
#include "wheel.h"

/* A turn of the loop takes a few ms at most; timer 1 wakes it every 33 ms. */
#define WATCHDOG WDTO_500MS

static uint8_t has_work(void)
{
    return wheel_has_work() || force_has_work() || uart_has_byte() || answer_is_waiting();
}

/* Sleeps until a task has something to do, or until timer 1 has turned over since
 * `turn`, for what is only due by the clock: most interrupts (a byte sent) are no
 * reason to look at everything.
 *
 * The instruction after sei always runs before an interrupt is served, so one that
 * comes after the look at the queues ends the sleep instead of preceding it. */
static void sleep_until_work(uint8_t turn)
{
    cli();
    while (!has_work() && (uint8_t)clock_overflows == turn) {
        sleep_enable();
        sei();
        sleep_cpu();
        sleep_disable();
        cli();
    }
    sei();
}

int main(void)
{
    clock_init();
    uart_init();
    wheel_init();
    force_init();
    identity_init();
    SMCR = SLEEP_MODE_IDLE;
    wdt_enable(WATCHDOG);
    sei();
    status_send_hello();
    for (;;) {
        const uint8_t turn = (uint8_t)clock_overflows;
        const uint16_t start = (uint16_t)clock_now();
        wdt_reset();
        wheel_task();
        force_task();
        answer_task();
        status_task();
        identity_task();
        status_note_turn((uint16_t)((uint16_t)clock_now() - start));
        sleep_until_work(turn);
    }
}
