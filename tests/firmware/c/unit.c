/* What in the firmware has no register in it, run on the host. Prints each failure,
 * then "N checks, M failed". */
#include <stdio.h>
#include <string.h>

#include "assemble.h"
#include "extend.h"
#include "judge.h"
#include "record.h"
#include "settings.h"
#include "tally.h"
#include "wire.gen.h"

static int checks;
static int failed;

#define CHECK(condition)                                              \
    do {                                                              \
        checks++;                                                     \
        if (!(condition)) {                                           \
            failed++;                                                 \
            printf("%s:%d: %s\n", __FILE__, __LINE__, #condition);    \
        }                                                             \
    } while (0)

/* Every place of a capture against the wrap, with a handler up to 16 ms late. */
static void test_extend(void)
{
    const uint32_t step = 997;
    for (uint32_t edge = 0x1FFF0; edge < 0x20010; edge++) {
        for (uint32_t late = 0; late < 0x7FF0; late += step) {
            const uint32_t read = edge + late;
            /* The overflow handler has a lower priority: it has not yet run for any
             * wrap since the edge, but has for those before the reader was due. */
            const uint16_t overflows = (uint16_t)((edge >> 16) - (edge >= 0x20000 ? 1 : 0));
            const uint8_t pending = (uint8_t)((read >> 16) != overflows);
            const uint16_t high = extend_high((uint16_t)edge, overflows, pending);
            CHECK(high == (uint16_t)(edge >> 16));
        }
    }
    CHECK(extend_high(5, 0xFFFF, 1) == 0); /* 32 bits wrap as well */
    CHECK(extend_high(0x7FFF, 3, 1) == 4);
    CHECK(extend_high(0x8000, 3, 1) == 3);
    CHECK(extend_high(5, 3, 0) == 3);
}

static assemble_t feed(assembler_t *a, const char *text)
{
    assemble_t last = ASSEMBLE_MORE;
    for (; *text != '\0'; text++) {
        last = assemble_byte(a, *text);
    }
    return last;
}

static void test_assemble(void)
{
    assembler_t a = {.length = 0};
    CHECK(feed(&a, "abc\n") == ASSEMBLE_LINE);
    CHECK(a.length == 3 && memcmp(a.line, "abc", 3) == 0);
    a.length = 0;
    CHECK(feed(&a, "\n\n") == ASSEMBLE_MORE);

    char longest[WIRE_LINE_MAX + 1];
    memset(longest, 'x', sizeof longest);
    longest[WIRE_LINE_MAX - 1] = '\n';
    longest[WIRE_LINE_MAX] = '\0';
    CHECK(feed(&a, longest) == ASSEMBLE_LINE);
    CHECK(a.length == WIRE_LINE_MAX - 1);
    a.length = 0;

    for (int i = 0; i < 100000; i++) {
        CHECK(assemble_byte(&a, 'y') == ASSEMBLE_MORE);
    }
    CHECK(assemble_byte(&a, '\n') == ASSEMBLE_BAD);
    a.length = 0;
    CHECK(feed(&a, "next\n") == ASSEMBLE_LINE);
    CHECK(a.length == 4);
}

static void test_judge(void)
{
    judge_t j = {JUDGE_SETTLE};
    for (int i = 0; i < 4; i++) {
        CHECK(judge_conversion(&j, 100, 1, 0) == WIRE_FORCE_SETTLING);
    }
    CHECK(judge_conversion(&j, 100, 1, 0) == 0);
    CHECK(judge_conversion(&j, 0x7FFFFF, 1, 0) == WIRE_FORCE_SATURATED);
    CHECK(judge_conversion(&j, 0x800000, 1, 0) == WIRE_FORCE_SATURATED);
    CHECK(judge_conversion(&j, 0x7FFFFE, 1, 1) == WIRE_FORCE_LATE);
    CHECK(judge_conversion(&j, 5, 0, 0) == WIRE_FORCE_DESYNC);
    CHECK(judge_conversion(&j, 5, 1, 0) == WIRE_FORCE_SETTLING);
    CHECK(judge_count(0) == 0);
    CHECK(judge_count(0x7FFFFF) == 8388607);
    CHECK(judge_count(0x800000) == -8388608);
    CHECK(judge_count(0xFFFFFF) == -1);
}

static void test_record(void)
{
    uint8_t a[RECORD_BYTES];
    uint8_t b[RECORD_BYTES];
    record_t r;
    uint8_t next;
    memset(a, 0xFF, sizeof a);
    memset(b, 0xFF, sizeof b);
    CHECK(record_choose(a, b, &r, &next) == WIRE_EEPROM_BLANK);
    CHECK(r.board_id == WIRE_NO_BOARD_ID && r.boot_count == 0 && next == 0);
    CHECK(r.settings[0] == WIRE_SET_PICKUP_EDGE_PRESET && r.settings[3] == WIRE_SET_FLOW_PERIOD_MS_PRESET);

    const record_t first = {1, 1, WIRE_NO_BOARD_ID, {0, 250, 250, 250}};
    record_pack(&first, a);
    CHECK(record_choose(a, b, &r, &next) == WIRE_EEPROM_BOTH_GOOD);
    CHECK(r.boot_count == 1 && next == 1);

    const record_t second = {2, 2, 0x12345678UL, {1, 100, 10000, 0xABCD}};
    record_pack(&second, b);
    CHECK(record_choose(a, b, &r, &next) == WIRE_EEPROM_BOTH_GOOD);
    CHECK(r.board_id == 0x12345678UL && r.boot_count == 2 && next == 0);
    CHECK(r.settings[0] == 1 && r.settings[1] == 100 && r.settings[2] == 10000 && r.settings[3] == 0xABCD);

    /* A write that loses power after n bytes leaves the older copy to go on from. */
    const record_t third = {3, 3, 0x12345678UL, {1, 100, 10000, 0xABCD}};
    uint8_t whole[RECORD_BYTES];
    record_pack(&third, whole);
    for (unsigned n = 0; n < RECORD_BYTES; n++) {
        uint8_t torn[RECORD_BYTES];
        memcpy(torn, a, sizeof torn);
        memcpy(torn, whole, n);
        const uint8_t state = record_choose(torn, b, &r, &next);
        CHECK(r.boot_count == 2 || (state == WIRE_EEPROM_BOTH_GOOD && r.boot_count == 3));
        CHECK(r.board_id == 0x12345678UL);
        CHECK(state == WIRE_EEPROM_ONE_GOOD || memcmp(torn, a, sizeof a) == 0 || memcmp(torn, whole, sizeof a) == 0);
        CHECK(state != WIRE_EEPROM_ONE_GOOD || next == 0);
    }

    /* Every single flipped bit is seen. */
    for (unsigned bit = 0; bit < 8 * RECORD_BYTES; bit++) {
        uint8_t bad[RECORD_BYTES];
        memcpy(bad, whole, sizeof bad);
        bad[bit / 8] = (uint8_t)(bad[bit / 8] ^ (1U << (bit % 8)));
        record_t got;
        CHECK(!record_unpack(bad, &got));
    }
    memset(a, 0, sizeof a);
    memset(b, 0, sizeof b);
    CHECK(record_choose(a, b, &r, &next) == WIRE_EEPROM_BOTH_BAD);
    CHECK(r.board_id == WIRE_NO_BOARD_ID);

    /* The generation wraps. */
    const record_t old = {0xFFFF, 7, 1, {0}};
    const record_t new = {0x0000, 8, 1, {0}};
    record_pack(&old, a);
    record_pack(&new, b);
    CHECK(record_choose(a, b, &r, &next) == WIRE_EEPROM_BOTH_GOOD && r.boot_count == 8 && next == 0);
}

static void test_settings(void)
{
    CHECK(!settings_has(0) && settings_has(1) && settings_has(RECORD_SETTINGS) && !settings_has(RECORD_SETTINGS + 1U));
    CHECK(settings_check(0, 1) == WIRE_SETTING_UNKNOWN_KEY);
    CHECK(settings_check(255, 1) == WIRE_SETTING_UNKNOWN_KEY);
    CHECK(settings_check(WIRE_SET_PICKUP_EDGE, 2) == WIRE_SETTING_OUT_OF_RANGE);
    CHECK(settings_check(WIRE_SET_PICKUP_EDGE, 1) == WIRE_SETTING_OK);
    CHECK(settings_check(WIRE_SET_HOT_PERIOD_MS, 249) == WIRE_SETTING_OUT_OF_RANGE);
    CHECK(settings_check(WIRE_SET_HOT_PERIOD_MS, 250) == WIRE_SETTING_OK);
    CHECK(settings_check(WIRE_SET_WATER_PERIOD_MS, 10000) == WIRE_SETTING_OK);
    CHECK(settings_check(WIRE_SET_WATER_PERIOD_MS, 10001) == WIRE_SETTING_OUT_OF_RANGE);
}

static void test_tally(void)
{
    CHECK(tally_add(0xFFFE, 1) == 0xFFFF);
    CHECK(tally_add(0xFFFE, 9) == 0xFFFF);
    tally_t t = {250, 250, 3};
    t.in_handler = (uint8_t)(t.in_handler + 10); /* wraps the byte */
    CHECK(tally_fold(&t) == 10);
    CHECK(t.total == 13);
    CHECK(tally_fold(&t) == 0);
}

int main(void)
{
    test_extend();
    test_assemble();
    test_judge();
    test_record();
    test_settings();
    test_tally();
    printf("%d checks, %d failed\n", checks, failed);
    return failed != 0;
}
