#include "peer.h"

static alarm_t *known;

static avr_cycle_count_t ring(struct avr_t *avr, avr_cycle_count_t when, void *param)
{
    (void)avr;
    (void)when;
    alarm_t *const alarm = param;
    alarm->set = false;
    alarm->action();
    /* The action may have set it again, on a slot of its own. */
    return 0;
}

static void arm(alarm_t *alarm)
{
    const avr_cycle_count_t in_cycles = alarm->at_cycle > chip->cycle ? alarm->at_cycle - chip->cycle : 0;
    avr_cycle_timer_register(chip, in_cycles, ring, alarm);
}

void alarm_set(alarm_t *alarm, avr_cycle_count_t at_cycle, alarm_action_t action)
{
    bool is_known = false;
    for (const alarm_t *a = known; a != NULL; a = a->next) {
        is_known |= a == alarm;
    }
    if (!is_known) {
        alarm->next = known;
        known = alarm;
    }
    alarm->at_cycle = at_cycle;
    alarm->action = action;
    alarm->set = true;
    arm(alarm);
}

void alarms_repeat(void)
{
    for (alarm_t *a = known; a != NULL; a = a->next) {
        if (a->set) {
            avr_cycle_timer_cancel(chip, ring, a);
            arm(a);
        }
    }
}
