#include "peer.h"

#include <string.h>

static const char *asked;
static avr_t *watched;
static void (*core_reset)(struct avr_t *avr);
static bool happened;

static void noted(struct avr_t *avr)
{
    if (core_reset != NULL) {
        core_reset(avr);
    }
    happened = true;
}

void resets_watch(void)
{
    watched = chip;
    core_reset = chip->reset;
    chip->reset = noted;
}

void resets_cause(const char *cause)
{
    static const char *const known[] = {"external", "power_on", "brown_out"};
    for (unsigned n = 0; n < sizeof known / sizeof *known; n++) {
        if (strcmp(cause, known[n]) == 0) {
            /* Not from here: simavr is in the middle of its timers. */
            asked = known[n];
            return;
        }
    }
    refuse("script: reset %s: the causes are external, power_on and brown_out", cause);
}

void resets_noticed(void)
{
    if (asked != NULL) {
        avr_reset(chip);
    }
    if (!happened) {
        return;
    }
    happened = false;
    say(LOG_RESET, "reset %s", asked != NULL ? asked : "watchdog");
    if (asked != NULL) {
        const avr_regbit_t flag = strcmp(asked, "external") == 0    ? chip->reset_flags.extrf
                                  : strcmp(asked, "power_on") == 0 ? chip->reset_flags.porf
                                                                   : chip->reset_flags.borf;
        avr_regbit_set(chip, flag);
    }
    asked = NULL;
    pins_repeat();
    alarms_repeat();
}
