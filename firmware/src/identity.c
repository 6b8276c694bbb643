#include "identity.h"

#include <avr/eeprom.h>

#include "record.h"
#include "settings.h"
#include "wire.gen.h"

/* Far apart: a write that strikes one copy cannot reach the other. */
static uint8_t *const copies[2] = {(uint8_t *)0x10, (uint8_t *)0x50};

static record_t record;
static uint8_t state;
static uint8_t next_copy;
static uint8_t pending[RECORD_BYTES];
static uint8_t left; /* bytes of `pending` still to be written */
static uint8_t dirty; /* `record` changed while an earlier write was under way */

static void start_write(void)
{
    record.generation++;
    record_pack(&record, pending);
    left = RECORD_BYTES;
    dirty = 0;
}

void identity_init(void)
{
    uint8_t a[RECORD_BYTES];
    uint8_t b[RECORD_BYTES];
    eeprom_read_block(a, copies[0], RECORD_BYTES);
    eeprom_read_block(b, copies[1], RECORD_BYTES);
    state = record_choose(a, b, &record, &next_copy);
    record.boot_count++;
    start_write();
}

void identity_task(void)
{
    if (left == 0) {
        if (dirty) {
            start_write();
        }
        return;
    }
    if (!eeprom_is_ready()) {
        return;
    }
    const uint8_t at = (uint8_t)(RECORD_BYTES - left);
    eeprom_update_byte(copies[next_copy] + at, pending[at]);
    left--;
    if (left == 0) {
        next_copy ^= 1U;
    }
}

uint32_t identity_board_id(void)
{
    return record.board_id;
}

uint16_t identity_boot_count(void)
{
    return record.boot_count;
}

uint8_t identity_eeprom_state(void)
{
    return state;
}

uint8_t identity_take_id(uint32_t board_id)
{
    if (record.board_id != WIRE_NO_BOARD_ID || board_id == WIRE_NO_BOARD_ID) {
        return 0;
    }
    record.board_id = board_id;
    dirty = 1;
    return 1;
}

uint16_t identity_setting(uint8_t key)
{
    return record.settings[key - 1U];
}

uint8_t identity_set(uint8_t key, uint16_t value)
{
    const uint8_t result = settings_check(key, value);
    if (result == WIRE_SETTING_OK && record.settings[key - 1U] != value) {
        record.settings[key - 1U] = value;
        dirty = 1;
    }
    return result;
}

uint8_t identity_is_saved(void)
{
    return left == 0 && !dirty && eeprom_is_ready();
}
