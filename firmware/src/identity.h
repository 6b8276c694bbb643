/* Who the board is: its id, its settings and how often it has started, hardware-notes/board.md. */
#ifndef IDENTITY_H
#define IDENTITY_H

#include <stdint.h>

/* main, once: reads the record and counts this start (one EEPROM write a boot) */
void identity_init(void);

/* task: writes one byte of a record at a time, only when the EEPROM is idle, so that
 * nothing ever waits 3.4 ms for it */
void identity_task(void);

/* task */
uint32_t identity_board_id(void);
uint16_t identity_boot_count(void);
uint8_t identity_eeprom_state(void);

/* task. Takes an id if the board has none; 1 if it took it. */
uint8_t identity_take_id(uint32_t board_id);

/* task. The value of a setting by its key (1 ..). */
uint16_t identity_setting(uint8_t key);

/* task. Takes a value if it is one; returns a value of WIRE_SETTING_*. */
uint8_t identity_set(uint8_t key, uint16_t value);

/* task. Everything is safe in EEPROM. */
uint8_t identity_is_saved(void);

#endif
