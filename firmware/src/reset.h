/* Why the chip started, and how much stack was never touched. */
#ifndef RESET_H
#define RESET_H

#include <stdint.h>

/* task. Bits of hello.reset_cause; 0 when a bootloader has taken them. */
uint8_t reset_cause(void);

/* task. Bytes between the statics and the deepest stack since reset. */
uint16_t reset_stack_free_min(void);

#endif
