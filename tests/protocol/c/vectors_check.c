/* Reads golden vectors on standard input, one a line: name, seq, fields in order
 * (decimal), then a tab and the line. Encodes, decodes, cuts and flips each one.
 * Prints "N ok" or the first failure. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wire.gen.h"

#include "names.gen.h" /* written by the test from messages.ts: field layout by name */

static int failures;

#define CHECK(ok, ...)                        \
    do {                                      \
        if (!(ok)) {                          \
            printf(__VA_ARGS__);              \
            printf("\n");                     \
            failures++;                       \
        }                                     \
    } while (0)

static int kind_of(const char *name)
{
    for (int k = 0; k < WIRE_KINDS; k++) {
        if (strcmp(names[k], name) == 0) {
            return k;
        }
    }
    return -1;
}

static void set_field(wire_message_t *m, int kind, int field, int64_t value)
{
    uint8_t *to = (uint8_t *)&m->as + layout[kind][field].offset;
    switch (layout[kind][field].bytes) {
    case 1: { uint8_t v = (uint8_t)value; memcpy(to, &v, 1); break; }
    case 2: { uint16_t v = (uint16_t)value; memcpy(to, &v, 2); break; }
    default: { uint32_t v = (uint32_t)value; memcpy(to, &v, 4); break; }
    }
}

static void check(char *text)
{
    char *tab = strchr(text, '\t');
    char *line = tab + 1;
    *tab = '\0';
    line[strcspn(line, "\n")] = '\0';
    const uint8_t length = (uint8_t)strlen(line);

    wire_message_t expect;
    memset(&expect, 0, sizeof expect);
    char *word = strtok(text, " ");
    const int kind = kind_of(word);
    CHECK(kind >= 0, "unknown name %s", word);
    expect.kind = (uint8_t)kind;
    expect.seq = (uint16_t)strtoul(strtok(NULL, " "), NULL, 10);
    for (int f = 0; f < field_counts[kind]; f++) {
        set_field(&expect, kind, f, strtoll(strtok(NULL, " "), NULL, 10));
    }

    char out[WIRE_LINE_MAX];
    const uint8_t n = wire_encode(out, &expect);
    CHECK(n == length + 1 && memcmp(out, line, length) == 0 && out[length] == '\n', "encode %s: %.*s", line, n, out);

    wire_message_t got;
    memset(&got, 0, sizeof got);
    CHECK(wire_decode(line, length, &got) == WIRE_OK, "decode %s", line);
    CHECK(got.kind == expect.kind && got.seq == expect.seq && memcmp(&got.as, &expect.as, sizeof got.as) == 0, "fields of %s", line);

    for (uint8_t cut = 0; cut < length; cut++) {
        CHECK(wire_decode(line, cut, &got) != WIRE_OK, "accepted %s cut to %d", line, cut);
    }
    for (int bit = 0; bit < 8 * length; bit++) {
        line[bit / 8] = (char)(line[bit / 8] ^ (1 << (bit % 8)));
        CHECK(wire_decode(line, length, &got) != WIRE_OK, "accepted flip of bit %d: %s", bit, line);
        line[bit / 8] = (char)(line[bit / 8] ^ (1 << (bit % 8)));
    }
}

int main(void)
{
    char text[1024];
    int n = 0;
    while (fgets(text, sizeof text, stdin) != NULL) {
        check(text);
        n++;
    }
    if (failures == 0) {
        printf("%d ok\n", n);
    }
    return failures != 0;
}
