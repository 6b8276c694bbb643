import { CRC_GENERATOR, CRC_START } from '../crc.js';
import { BAUD, eepromStates, fieldTypes, forceFlags, LINE_BYTES_MAX, lineBytes, resetCauses, schemaHash, settingResults, settings } from '../messages.js';
import type { MessageDef } from '../messages.js';
import { banner, digitsOf, hex } from './names.js';

/** Text of protocol/PROTOCOL.md. */
export function referencePage(defs: readonly MessageDef[]): string {
  const hash = schemaHash(defs);
  return `<!-- ${banner(hash)} -->
# The wire protocol

Schema \`${hex(hash, 8)}\`. ${BAUD} baud, 8 data bits, no parity, one stop bit (exact at 16 MHz).

A line is printable ASCII ended by LF, at most ${LINE_BYTES_MAX} bytes with the LF:

\`\`\`
T SSSS ' ' field ' ' field ... ' ' CCCC LF      (no blank between T and SSSS)
\`\`\`

- \`T\` is one letter, the tag; \`SSSS\` the 16-bit sequence number of that stream. Numbers are spent
  for dropped messages too, so a hole is a counted loss.
- Fields have a fixed width and are hexadecimal, upper case only.
- \`CCCC\` is a CRC-16 of every byte before the blank in front of it: generator 0x1${hex(CRC_GENERATOR, 4)},
  start ${hex(CRC_START, 4)}, most significant bit first, not reflected, not inverted.
- A receiver counts and skips a tag that it does not know, and ignores fields between the last one
  it knows and the CRC.
- One tick is 8 clock cycles: 0.5 us at 16 MHz. The 32-bit tick wraps every 35.8 minutes; \`wraps\`
  in hello and status counts that.

## Messages

${defs.map(message).join('\n\n')}

## Sets of bits

${bits('force.flags', forceFlags)}

${bits('hello.reset_cause', resetCauses)}

### status.eeprom_state

| value | name | means |
|---|---|---|
${Object.entries(eepromStates).map(([n, s]) => `| ${s.value} | ${n} | ${s.says} |`).join('\n')}

### setting.result

| value | name | means |
|---|---|---|
${Object.entries(settingResults).map(([n, s]) => `| ${s.value} | ${n} | ${s.says} |`).join('\n')}

## Settings

| key | name | least | most | preset | means |
|---|---|---|---|---|---|
${Object.entries(settings).map(([n, s]) => `| ${s.key} | ${n} | ${s.least} | ${s.most} | ${s.preset} | ${s.says} |`).join('\n')}

## Link budget

Every stream at its full rate may use at most half of ${BAUD} baud (${BAUD / 10} bytes a second).

${budget(defs, 'board')}

${budget(defs, 'host')}
`;
}

function message(def: MessageDef): string {
  const fields =
    def.fields.length === 0
      ? 'No fields.'
      : `| field | type | digits | unit | means |\n|---|---|---|---|---|\n${def.fields
          .map((f) => `| ${f.name} | ${f.type}${fieldTypes[f.type].signed ? " (two's complement)" : ''} | ${digitsOf(f.type)} | ${f.unit} | ${f.says} |`)
          .join('\n')}`;
  return `### \`${def.tag}\` ${def.name} (from the ${def.from}, ${lineBytes(def)} bytes)\n\n${def.says}\n\n${fields}`;
}

function bits(title: string, set: Readonly<Record<string, { bit: number; says: string }>>): string {
  return `### ${title}\n\n| bit | name | means |\n|---|---|---|\n${Object.entries(set)
    .map(([n, f]) => `| ${f.bit} | ${n} | ${f.says} |`)
    .join('\n')}`;
}

/** Bytes a second with all streams of one sender at full rate. */
export function bytesPerSecond(defs: readonly MessageDef[], from: MessageDef['from']): number {
  return defs.filter((d) => d.from === from).reduce((s, d) => s + d.rate_max_Hz * lineBytes(d), 0);
}

function budget(defs: readonly MessageDef[], from: MessageDef['from']): string {
  const rows = defs.filter((d) => d.from === from).map((d) => `| ${d.name} | ${d.rate_max_Hz} | ${lineBytes(d)} | ${d.rate_max_Hz * lineBytes(d)} |`);
  const sum = bytesPerSecond(defs, from);
  return `| from the ${from} | a second | bytes | bytes a second |\n|---|---|---|---|\n${rows.join('\n')}\n| **all** | | | **${sum}** (${((1000 * sum) / BAUD).toFixed(1)} % of the line) |`;
}
