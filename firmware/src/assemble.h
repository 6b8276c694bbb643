/* Bytes to lines: no registers, tested on the host. */
#ifndef ASSEMBLE_H
#define ASSEMBLE_H

#include <stdint.h>

#include "wire.gen.h"

typedef struct {
    char line[WIRE_LINE_MAX];
    uint8_t length;
    uint8_t too_long; /* the rest of this line is being skipped */
} assembler_t;

typedef enum { ASSEMBLE_MORE, ASSEMBLE_LINE, ASSEMBLE_BAD } assemble_t;

/* task. ASSEMBLE_LINE: line[0, length) is whole, and is gone with the next byte.
 * ASSEMBLE_BAD: an over-long line has ended. Empty lines are passed over. */
assemble_t assemble_byte(assembler_t *a, char byte);

#endif
