#include "judge.h"

#include "wire.gen.h"

uint8_t judge_conversion(judge_t *j, uint32_t raw, uint8_t ended_well, uint8_t late)
{
    uint8_t flags = 0;
    if (j->settling > 0) {
        j->settling--;
        flags |= WIRE_FORCE_SETTLING;
    }
    if (raw == 0x7FFFFFUL || raw == 0x800000UL) {
        flags |= WIRE_FORCE_SATURATED;
    }
    if (late) {
        flags |= WIRE_FORCE_LATE;
    }
    if (!ended_well) {
        flags |= WIRE_FORCE_DESYNC;
        j->settling = JUDGE_SETTLE;
    }
    return flags;
}
