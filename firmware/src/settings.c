#include "settings.h"

#include "record.h"
#include "wire.gen.h"

static const struct {
    uint16_t least;
    uint16_t most;
    uint16_t preset;
} limits[RECORD_SETTINGS] = {
    {WIRE_SET_PICKUP_EDGE_LEAST, WIRE_SET_PICKUP_EDGE_MOST, WIRE_SET_PICKUP_EDGE_PRESET},
    {WIRE_SET_WATER_PERIOD_MS_LEAST, WIRE_SET_WATER_PERIOD_MS_MOST, WIRE_SET_WATER_PERIOD_MS_PRESET},
    {WIRE_SET_HOT_PERIOD_MS_LEAST, WIRE_SET_HOT_PERIOD_MS_MOST, WIRE_SET_HOT_PERIOD_MS_PRESET},
    {WIRE_SET_FLOW_PERIOD_MS_LEAST, WIRE_SET_FLOW_PERIOD_MS_MOST, WIRE_SET_FLOW_PERIOD_MS_PRESET},
};
_Static_assert(WIRE_SET_PICKUP_EDGE == 1 && WIRE_SET_WATER_PERIOD_MS == 2 && WIRE_SET_HOT_PERIOD_MS == 3 &&
                   WIRE_SET_FLOW_PERIOD_MS == 4,
               "the rows stand in the order of their keys");

uint8_t settings_has(uint8_t key)
{
    return key >= 1 && key <= RECORD_SETTINGS;
}

uint8_t settings_check(uint8_t key, uint16_t value)
{
    if (!settings_has(key)) {
        return WIRE_SETTING_UNKNOWN_KEY;
    }
    return value >= limits[key - 1U].least && value <= limits[key - 1U].most ? WIRE_SETTING_OK : WIRE_SETTING_OUT_OF_RANGE;
}

void settings_preset(uint16_t *values)
{
    for (uint8_t i = 0; i < RECORD_SETTINGS; i++) {
        values[i] = limits[i].preset;
    }
}
