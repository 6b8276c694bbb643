#include "record.h"

#include "settings.h"
#include "wire.gen.h"

/* version, unused, generation, boot count, id, settings, crc: low byte first */

void record_pack(const record_t *record, uint8_t bytes[RECORD_BYTES])
{
    bytes[0] = RECORD_VERSION;
    bytes[1] = 0;
    bytes[2] = (uint8_t)record->generation;
    bytes[3] = (uint8_t)(record->generation >> 8);
    bytes[4] = (uint8_t)record->boot_count;
    bytes[5] = (uint8_t)(record->boot_count >> 8);
    bytes[6] = (uint8_t)record->board_id;
    bytes[7] = (uint8_t)(record->board_id >> 8);
    bytes[8] = (uint8_t)(record->board_id >> 16);
    bytes[9] = (uint8_t)(record->board_id >> 24);
    for (uint8_t i = 0; i < RECORD_SETTINGS; i++) {
        bytes[10U + 2U * i] = (uint8_t)record->settings[i];
        bytes[11U + 2U * i] = (uint8_t)(record->settings[i] >> 8);
    }
    const uint16_t crc = wire_crc((const char *)bytes, RECORD_BYTES - 2U);
    bytes[RECORD_BYTES - 2U] = (uint8_t)crc;
    bytes[RECORD_BYTES - 1U] = (uint8_t)(crc >> 8);
}

uint8_t record_unpack(const uint8_t bytes[RECORD_BYTES], record_t *record)
{
    const uint16_t crc = (uint16_t)(bytes[RECORD_BYTES - 2U] | ((uint16_t)bytes[RECORD_BYTES - 1U] << 8));
    if (bytes[0] != RECORD_VERSION || crc != wire_crc((const char *)bytes, RECORD_BYTES - 2U)) {
        return 0;
    }
    record->generation = (uint16_t)(bytes[2] | ((uint16_t)bytes[3] << 8));
    record->boot_count = (uint16_t)(bytes[4] | ((uint16_t)bytes[5] << 8));
    record->board_id = (uint32_t)bytes[6] | ((uint32_t)bytes[7] << 8) | ((uint32_t)bytes[8] << 16) | ((uint32_t)bytes[9] << 24);
    for (uint8_t i = 0; i < RECORD_SETTINGS; i++) {
        record->settings[i] = (uint16_t)(bytes[10U + 2U * i] | ((uint16_t)bytes[11U + 2U * i] << 8));
    }
    return 1;
}

static uint8_t is_blank(const uint8_t bytes[RECORD_BYTES])
{
    uint8_t all = 0xFFU;
    for (uint8_t i = 0; i < RECORD_BYTES; i++) {
        all &= bytes[i];
    }
    return all == 0xFFU;
}

uint8_t record_choose(const uint8_t a[RECORD_BYTES], const uint8_t b[RECORD_BYTES], record_t *newest, uint8_t *next)
{
    record_t in_a;
    record_t in_b;
    const uint8_t a_good = record_unpack(a, &in_a);
    const uint8_t b_good = record_unpack(b, &in_b);
    if (a_good && b_good) {
        /* Signed difference: the generation may have wrapped. */
        const uint8_t a_newer = (int16_t)(in_a.generation - in_b.generation) > 0;
        *newest = a_newer ? in_a : in_b;
        *next = a_newer ? 1 : 0;
        return WIRE_EEPROM_BOTH_GOOD;
    }
    if (a_good || b_good) {
        const uint8_t other_blank = is_blank(a_good ? b : a);
        *newest = a_good ? in_a : in_b;
        *next = a_good ? 1 : 0;
        /* The second copy of a board that has started once only was never written. */
        return other_blank ? WIRE_EEPROM_BOTH_GOOD : WIRE_EEPROM_ONE_GOOD;
    }
    newest->generation = 0;
    newest->boot_count = 0;
    newest->board_id = WIRE_NO_BOARD_ID;
    settings_preset(newest->settings);
    *next = 0;
    return is_blank(a) && is_blank(b) ? WIRE_EEPROM_BLANK : WIRE_EEPROM_BOTH_BAD;
}
