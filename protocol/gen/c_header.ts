import { eepromStates, forceFlags, GIVE_ID_WORD, LINE_BYTES_MAX, lineBytes, NO_BOARD_ID, resetCauses, schemaHash } from '../messages.js';
import { BAUD, CYCLES_PER_TICK, settingResults, settings, WATER_SAMPLES } from '../messages.js';
import type { MessageDef } from '../messages.js';
import { banner, cBytes, cTypes, hex, upper } from './names.js';

/** Text of firmware/src/wire.gen.h. */
export function cHeader(defs: readonly MessageDef[]): string {
  const hash = schemaHash(defs);
  return `/* ${banner(hash)} */
#ifndef WIRE_GEN_H
#define WIRE_GEN_H

#include <stdint.h>

#define WIRE_SCHEMA_HASH 0x${hex(hash, 8)}UL
#define WIRE_BAUD ${BAUD}UL
#define WIRE_CYCLES_PER_TICK ${CYCLES_PER_TICK}
#define WIRE_GIVE_ID_WORD 0x${hex(GIVE_ID_WORD, 8)}UL
#define WIRE_NO_BOARD_ID 0x${hex(NO_BOARD_ID, 8)}UL
#define WIRE_WATER_SAMPLES ${WATER_SAMPLES}
/* A line with its LF. */
#define WIRE_LINE_MAX ${LINE_BYTES_MAX}

${flags('WIRE_FORCE_', forceFlags)}

${flags('WIRE_RESET_', resetCauses)}

${Object.entries(eepromStates)
  .map(([name, s]) => `#define WIRE_EEPROM_${name.toUpperCase()} ${s.value} /* ${s.says} */`)
  .join('\n')}

${Object.entries(settings)
  .map(
    ([name, s]) =>
      `#define WIRE_SET_${name.toUpperCase()} ${s.key} /* ${s.says} */
#define WIRE_SET_${name.toUpperCase()}_LEAST ${s.least}U
#define WIRE_SET_${name.toUpperCase()}_MOST ${s.most}U
#define WIRE_SET_${name.toUpperCase()}_PRESET ${s.preset}U`,
  )
  .join('\n')}

${Object.entries(settingResults)
  .map(([name, s]) => `#define WIRE_SETTING_${name.toUpperCase()} ${s.value} /* ${s.says} */`)
  .join('\n')}

typedef enum {
${defs.map((d, i) => `    WIRE_${upper(d)} = ${i}, /* '${d.tag}' from the ${d.from}: ${lineBytes(d)} bytes */`).join('\n')}
    WIRE_KINDS = ${defs.length}
} wire_kind_t;

${defs.map(struct).join('\n\n')}

typedef struct {
    uint8_t kind; /* wire_kind_t */
    uint16_t seq;
    union {
${defs.filter((d) => d.fields.length > 0).map((d) => `        wire_${d.name}_t ${d.name};`).join('\n')}
    } as;
} wire_message_t;

typedef enum {
    WIRE_OK = 0,
    WIRE_TOO_SHORT,
    WIRE_TOO_LONG,
    WIRE_NOT_ASCII,
    WIRE_BAD_CRC,
    WIRE_BAD_DIGIT,
    WIRE_UNKNOWN
} wire_result_t;

/* Any context. Writes one line with its LF (no NUL) into line[WIRE_LINE_MAX]; returns its length.
 * Values wider than their field lose their upper bits. */
uint8_t wire_encode(char *line, const wire_message_t *message);

/* Any context. line[length] is without LF. *message is whole only when WIRE_OK is returned. */
wire_result_t wire_decode(const char *line, uint8_t length, wire_message_t *message);

uint16_t wire_crc(const char *bytes, uint8_t length);

${defs.map((d) => `_Static_assert(${lineBytes(d)} <= WIRE_LINE_MAX, "${d.name} does not fit a line");`).join('\n')}
_Static_assert(WIRE_LINE_MAX <= 255, "lengths are uint8_t");
${defs
  .flatMap((d) => d.fields.map((f) => `_Static_assert(sizeof(((wire_${d.name}_t *)0)->${f.name}) == ${cBytes[f.type]}, "${d.name}.${f.name}");`))
  .join('\n')}

#endif
`;
}

function flags(prefix: string, set: Readonly<Record<string, { bit: number; says: string }>>): string {
  return Object.entries(set)
    .map(([name, f]) => `#define ${prefix}${name.toUpperCase()} 0x${hex(1 << f.bit, 2)}U /* ${f.says} */`)
    .join('\n');
}

function struct(def: MessageDef): string {
  if (def.fields.length === 0) return `/* ${def.name} has no fields. */`;
  const lines = def.fields.map((f) => `    ${cTypes[f.type]} ${f.name}; /* ${f.unit === '' ? '' : `${f.unit}: `}${f.says} */`);
  return `/* ${def.says} */\ntypedef struct {\n${lines.join('\n')}\n} wire_${def.name}_t;`;
}
