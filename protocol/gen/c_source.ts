import { CRC_GENERATOR, CRC_START, crcTable } from '../crc.js';
import { fieldTypes, lineBytes, schemaHash } from '../messages.js';
import type { MessageDef } from '../messages.js';
import { banner, cBytes, digitsOf, hex } from './names.js';

/** Text of firmware/src/wire.gen.c: tables from the schema, and the small fixed runtime that walks them. */
export function cSource(defs: readonly MessageDef[]): string {
  const hash = schemaHash(defs);
  return `/* ${banner(hash)} */
#include "wire.gen.h"

#include <stddef.h> /* offsetof */

#if WIRE_SCHEMA_HASH != 0x${hex(hash, 8)}UL
#error wire.gen.c and wire.gen.h are of different editions: run npm run generate
#endif

#ifdef __AVR__
#include <avr/pgmspace.h>
#define IN_FLASH PROGMEM
#define FLASH_U8(p) pgm_read_byte(p)
#define FLASH_U16(p) pgm_read_word(p)
#else
#define IN_FLASH
#define FLASH_U8(p) (*(p))
#define FLASH_U16(p) (*(p))
#endif

/* One field: where it lies in wire_message_t.as, its bytes there, its digits on the wire. */
typedef struct {
    uint8_t offset;
    uint8_t bytes;
    uint8_t digits;
    uint8_t is_signed;
} field_t;

typedef struct {
    char tag;
    uint8_t length; /* without LF */
    uint8_t first;  /* into fields[] */
    uint8_t count;
} kind_t;

static const field_t fields[] IN_FLASH = {
${defs
  .flatMap((d) =>
    d.fields.map(
      (f) =>
        `    {offsetof(wire_${d.name}_t, ${f.name}), ${cBytes[f.type]}, ${digitsOf(f.type)}, ${fieldTypes[f.type].signed ? 1 : 0}},`,
    ),
  )
  .join('\n')}
};

static const kind_t kinds[WIRE_KINDS] IN_FLASH = {
${kindRows(defs)}
};

/* Generator 0x1${hex(CRC_GENERATOR, 4)}, most significant bit first. */
static const uint16_t crc_table[256] IN_FLASH = {
${crcRows()}
};

static uint16_t crc_step(uint16_t crc, uint8_t byte)
{
    return (uint16_t)((uint16_t)(crc << 8) ^ FLASH_U16(&crc_table[(uint8_t)(crc >> 8) ^ byte]));
}

uint16_t wire_crc(const char *bytes, uint8_t length)
{
    uint16_t crc = 0x${hex(CRC_START, 4)}U;
    while (length-- > 0) {
        crc = crc_step(crc, (uint8_t)*bytes++);
    }
    return crc;
}

static char *put_hex(char *at, uint32_t value, uint8_t digits)
{
    char *const end = at + digits;
    char *p = end;
    while (p > at) {
        const uint8_t nibble = (uint8_t)value & 0x0FU;
        *--p = (char)(nibble < 10 ? '0' + nibble : 'A' - 10 + nibble);
        value >>= 4;
    }
    return end;
}

/* Upper case only; 0xFF for anything else. */
static uint8_t hex_digit(char c)
{
    if (c >= '0' && c <= '9') {
        return (uint8_t)(c - '0');
    }
    if (c >= 'A' && c <= 'F') {
        return (uint8_t)(c - 'A' + 10);
    }
    return 0xFFU;
}

/* 1 and *value, or 0 where a digit is none. */
static uint8_t get_hex(const char *at, uint8_t digits, uint32_t *value)
{
    uint32_t v = 0;
    uint8_t bad = 0;
    while (digits-- > 0) {
        const uint8_t d = hex_digit(*at++);
        bad |= d;
        v = (v << 4) | (d & 0x0FU);
    }
    *value = v;
    return (bad & 0xF0U) == 0;
}

uint8_t wire_encode(char *line, const wire_message_t *message)
{
    const kind_t *const kind = &kinds[message->kind];
    const uint8_t *const base = (const uint8_t *)&message->as;
    const field_t *field = &fields[FLASH_U8(&kind->first)];
    char *p = line;
    *p++ = (char)FLASH_U8((const uint8_t *)&kind->tag);
    p = put_hex(p, message->seq, 4);
    for (uint8_t n = FLASH_U8(&kind->count); n > 0; n--, field++) {
        const uint8_t *const from = base + FLASH_U8(&field->offset);
        uint32_t value;
        switch (FLASH_U8(&field->bytes)) {
        case 1:
            value = *from;
            break;
        case 2:
            value = *(const uint16_t *)(const void *)from;
            break;
        default:
            value = *(const uint32_t *)(const void *)from;
            break;
        }
        *p++ = ' ';
        p = put_hex(p, value, FLASH_U8(&field->digits));
    }
    const uint16_t crc = wire_crc(line, (uint8_t)(p - line));
    *p++ = ' ';
    p = put_hex(p, crc, 4);
    *p++ = '\\n';
    return (uint8_t)(p - line);
}

wire_result_t wire_decode(const char *line, uint8_t length, wire_message_t *message)
{
    uint32_t value;
    if (length < 10) {
        return WIRE_TOO_SHORT;
    }
    if (length > WIRE_LINE_MAX - 1) {
        return WIRE_TOO_LONG;
    }
    for (uint8_t i = 0; i < length; i++) {
        if (line[i] < ' ' || line[i] > '~') {
            return WIRE_NOT_ASCII;
        }
    }
    const uint8_t end = (uint8_t)(length - 5);
    if (line[end] != ' ' || !get_hex(&line[end + 1], 4, &value) || value != wire_crc(line, end)) {
        return WIRE_BAD_CRC;
    }
    uint8_t k = 0;
    while (k < WIRE_KINDS && (char)FLASH_U8((const uint8_t *)&kinds[k].tag) != line[0]) {
        k++;
    }
    if (k == WIRE_KINDS) {
        return WIRE_UNKNOWN;
    }
    const uint8_t known = FLASH_U8(&kinds[k].length);
    if (length < known) {
        return WIRE_TOO_SHORT;
    }
    /* What a newer edition added is separated like everything else. */
    if (length > known && line[known - 5] != ' ') {
        return WIRE_BAD_DIGIT;
    }
    if (!get_hex(&line[1], 4, &value)) {
        return WIRE_BAD_DIGIT;
    }
    message->kind = k;
    message->seq = (uint16_t)value;
    const char *p = &line[5];
    uint8_t *const base = (uint8_t *)&message->as;
    const field_t *field = &fields[FLASH_U8(&kinds[k].first)];
    for (uint8_t n = FLASH_U8(&kinds[k].count); n > 0; n--, field++) {
        const uint8_t digits = FLASH_U8(&field->digits);
        uint8_t *const to = base + FLASH_U8(&field->offset);
        if (*p != ' ' || !get_hex(p + 1, digits, &value)) {
            return WIRE_BAD_DIGIT;
        }
        p += 1 + digits;
        if (FLASH_U8(&field->is_signed) && (value >> (4 * digits - 1)) != 0) {
            value |= (uint32_t)(UINT32_MAX << (4 * digits));
        }
        switch (FLASH_U8(&field->bytes)) {
        case 1:
            *to = (uint8_t)value;
            break;
        case 2:
            *(uint16_t *)(void *)to = (uint16_t)value;
            break;
        default:
            *(uint32_t *)(void *)to = value;
            break;
        }
    }
    return WIRE_OK;
}
`;
}

function kindRows(defs: readonly MessageDef[]): string {
  let first = 0;
  return defs
    .map((d) => {
      // A message without fields walks none, so any valid index will do.
      const row = `    {'${d.tag}', ${lineBytes(d) - 1}, ${d.fields.length === 0 ? 0 : first}, ${d.fields.length}},`;
      first += d.fields.length;
      return row;
    })
    .join('\n');
}

function crcRows(): string {
  const cells = Array.from(crcTable, (v) => `0x${hex(v, 4)}`);
  return Array.from({ length: 32 }, (_, r) => `    ${cells.slice(8 * r, 8 * r + 8).join(', ')},`).join('\n');
}
