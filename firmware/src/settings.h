/* What a host may set: no registers, tested on the host. Limits come from the schema. */
#ifndef SETTINGS_H
#define SETTINGS_H

#include <stdint.h>

/* any context */
uint8_t settings_has(uint8_t key);

/* any context. Returns a value of WIRE_SETTING_*. */
uint8_t settings_check(uint8_t key, uint16_t value);

/* any context. values[0] belongs to key 1. */
void settings_preset(uint16_t *values);

#endif
