/* The board record, kept twice in EEPROM: no registers, tested on the host.
 *
 * The two copies are written in turn, so that one that was cut short by a loss of
 * power leaves the older one whole. The newer good one counts. */
#ifndef RECORD_H
#define RECORD_H

#include <stdint.h>

#define RECORD_VERSION 1U
#define RECORD_BYTES 20U
#define RECORD_SETTINGS 4U

typedef struct {
    uint16_t generation; /* goes up with every write */
    uint16_t boot_count;
    uint32_t board_id;
    uint16_t settings[RECORD_SETTINGS]; /* by key, the first has key 1 */
} record_t;

/* any context */
void record_pack(const record_t *record, uint8_t bytes[RECORD_BYTES]);

/* any context. 0: not a record of this version, or damaged. */
uint8_t record_unpack(const uint8_t bytes[RECORD_BYTES], record_t *record);

/* any context. Chooses between the copies: *newest is the record to go on from (a
 * blank one if none is good), *next is the copy to write next. Returns a value of
 * status.eeprom_state. */
uint8_t record_choose(const uint8_t a[RECORD_BYTES], const uint8_t b[RECORD_BYTES], record_t *newest, uint8_t *next);

#endif
