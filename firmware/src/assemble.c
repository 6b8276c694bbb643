#include "assemble.h"

assemble_t assemble_byte(assembler_t *a, char byte)
{
    if (byte != '\n') {
        if (a->length < WIRE_LINE_MAX - 1) {
            a->line[a->length++] = byte;
        } else {
            a->too_long = 1;
        }
        return ASSEMBLE_MORE;
    }
    const uint8_t bad = a->too_long;
    const uint8_t empty = a->length == 0;
    a->too_long = 0;
    if (bad || empty) {
        a->length = 0;
        return bad ? ASSEMBLE_BAD : ASSEMBLE_MORE;
    }
    return ASSEMBLE_LINE;
}
