/* Random lines that pass every check but the CRC. The generator is the same as in
 * random_lines.mjs, so both codecs see the same lines: prints how many were
 * accepted, and a hash over the accepted ones. Argument: how many to try. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wire.gen.h"

static uint32_t state = 0x2545F491U;

/* xorshift32 (Marsaglia 2003, triple 13, 17, 5) */
static uint32_t next(void)
{
    state ^= state << 13;
    state ^= state >> 17;
    state ^= state << 5;
    return state;
}

static char *put(char *at, uint32_t value, int digits)
{
    for (int i = digits - 1; i >= 0; i--) {
        *at++ = "0123456789ABCDEF"[(value >> (4 * i)) & 15U];
    }
    return at;
}

int main(int argc, char **argv)
{
    const long tries = argc > 1 ? atol(argv[1]) : 0;
    uint32_t hash = 0x811C9DC5U;
    long accepted = 0;
    for (long i = 0; i < tries; i++) {
        char line[WIRE_LINE_MAX];
        char *p = line;
        *p++ = 'E';
        p = put(p, next() & 0xFFFFU, 4);
        *p++ = ' ';
        p = put(p, next(), 8);
        *p++ = ' ';
        p = put(p, next() & 0xFFFFU, 4);
        wire_message_t m;
        if (wire_decode(line, (uint8_t)(p - line), &m) == WIRE_OK) {
            accepted++;
            for (const char *c = line; c < p; c++) {
                hash = (hash ^ (uint8_t)*c) * 0x01000193U;
            }
        }
    }
    printf("%ld %08" PRIX32 "\n", accepted, hash);
    return 0;
}
