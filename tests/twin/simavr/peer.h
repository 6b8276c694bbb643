/* The second emulator: simavr behind a stimulus script and a log. A test program,
 * built when the tests run, never shipped. README.md has both formats. */
#ifndef PEER_H
#define PEER_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

#include <simavr/sim_avr.h>

#define CLOCK_HZ 16000000u
#define SUPPLY_mV 5000u

/* Which kinds of log line are wanted. */
typedef enum { LOG_TX = 1, LOG_OUT = 2, LOG_SLEEP = 4, LOG_RESET = 8, LOG_BRIDGE = 16, LOG_ALL = 31 } log_kind_t;

extern avr_t *chip;
extern unsigned log_wanted;

/* Ends the program with exit code 2 (wrong use, a bad file). */
_Noreturn void refuse(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* A log line: the cycle, then the text. */
void say(log_kind_t kind, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* One line of a file, without comment lines; false at its end. */
bool next_line(FILE *file, char *line, int size);
FILE *open_input(const char *path);

/* pins.c: what drives each pin from outside, and what the chip drives. */
typedef void (*pin_listener_t)(int level);
void pins_connect(void);
/* Ports are 'B', 'C', 'D'. Kept over resets. */
void pins_set(char port, int bit, int level);
/* Says again what stands at the pins: after a reset of the chip. */
void pins_repeat(void);
/* 0, 1, or -1 where the chip does not drive the pin. */
int pins_driven(char port, int bit);
/* Called when the chip's drive of this pin changes to 0 or 1. */
void pins_listen(char port, int bit, pin_listener_t listener);

/* alarm.c: work at a cycle, which simavr's own timers forget at a reset. */
typedef void (*alarm_action_t)(void);
typedef struct alarm {
    avr_cycle_count_t at_cycle;
    alarm_action_t action;
    struct alarm *next;
    bool set;
} alarm_t;
void alarm_set(alarm_t *alarm, avr_cycle_count_t at_cycle, alarm_action_t action);
void alarms_repeat(void);

/* script.c */
void script_load(const char *path);
bool script_ended(void);

/* bridge.c, thermocouple.c: chips on the board. */
void bridge_load(const char *path);
void thermocouple_load(const char *path);

/* resets.c */
void resets_watch(void);
void resets_cause(const char *cause);
/* After each step of the emulator. */
void resets_noticed(void);

#endif
