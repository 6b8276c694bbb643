import type { BoardMessage, MessageOf } from '../../../protocol/messages.js';

/** Columns that grow by doubling. `n` rows of each are filled. */
type Column = Float64Array | Int32Array | Uint32Array | Uint16Array | Uint8Array;

/** One stream of a block. Every column has at least `n` rows; what lies beyond is rubbish. */
export interface Rows {
  n: number;
  /** Board ticks since reset, wraps added. */
  tick: Float64Array;
  /** As on the wire, 16 bits. */
  seq: Uint16Array;
  /** Number of the boot in this bench, from 0. */
  boot: Uint16Array;
  /** True bench time of what was measured; NaN where nothing was (a timeout). */
  t_s: Float64Array;
}

export interface ForceRows extends Rows {
  count: Int32Array;
  flags: Uint8Array;
  /** The truth: force on the cell then, the force that the converter's filter saw, brake torque and speed then. */
  force_N: Float64Array;
  filtered_N: Float64Array;
  torque_Nm: Float64Array;
  speed_rad_s: Float64Array;
}

export interface EdgeRows extends Rows {
  /** The truth: speed then, and which magnet passed. */
  speed_rad_s: Float64Array;
  magnet: Uint8Array;
}

export interface HotRows extends Rows {
  word: Uint32Array;
  /** The truth, of the conversion that the word is of; t_s is its end. */
  hot_C: Float64Array;
  junction_C: Float64Array;
}

export interface WaterRows extends Rows {
  in_sum: Uint16Array;
  out_sum: Uint16Array;
  skin_sum: Uint16Array;
  spare_sum: Uint16Array;
  in_spread: Uint8Array;
  out_spread: Uint8Array;
  skin_spread: Uint8Array;
  spare_spread: Uint8Array;
  /** The truth. */
  coolant_in_C: Float64Array;
  coolant_out_C: Float64Array;
  skin_C: Float64Array;
  spare_V: Float64Array;
}

export interface FlowRows extends Rows {
  /** Low 32 bits, as on the wire. */
  pulse_tick: Uint32Array;
  pulses: Uint16Array;
  /** The truth. */
  flow_Lpmin: Float64Array;
}

export type MarkRows = Rows;

/** All that came out of the cable between two bench times, by stream, in the order of the line. */
export interface Block {
  from_s: number;
  to_s: number;
  readonly force: ForceRows;
  readonly edge: EdgeRows;
  readonly hot: HotRows;
  readonly water: WaterRows;
  readonly flow: FlowRows;
  readonly mark: MarkRows;
  /** The rarer ones as they are: hello, status, setting, time; and any line that noise made into another. */
  readonly other: { readonly boot: number; readonly tick: number; readonly message: BoardMessage }[];
  /** Which stream each message of the block is of, in order: see STREAMS. */
  order: Uint8Array;
  n: number;
  /** Boots that began in it, with what the board says of itself then, heard or not. */
  readonly boots: { readonly boot: number; readonly t_s: number; readonly hello: MessageOf<'hello'> }[];
}

/** Numbers in Block.order. */
export const STREAMS = ['other', 'edge', 'force', 'hot', 'water', 'flow', 'mark'] as const;
export type BlockStream = Exclude<(typeof STREAMS)[number], 'other'>;

const START_rows = 64;
type Kind = new (n: number) => Column;
const BASE: Record<string, Kind> = { tick: Float64Array, seq: Uint16Array, boot: Uint16Array, t_s: Float64Array };
const COLUMNS: Record<BlockStream, Record<string, Kind>> = {
  edge: { ...BASE, speed_rad_s: Float64Array, magnet: Uint8Array },
  force: { ...BASE, count: Int32Array, flags: Uint8Array, force_N: Float64Array, filtered_N: Float64Array, torque_Nm: Float64Array, speed_rad_s: Float64Array },
  hot: { ...BASE, word: Uint32Array, hot_C: Float64Array, junction_C: Float64Array },
  water: {
    ...BASE,
    ...{ in_sum: Uint16Array, out_sum: Uint16Array, skin_sum: Uint16Array, spare_sum: Uint16Array },
    ...{ in_spread: Uint8Array, out_spread: Uint8Array, skin_spread: Uint8Array, spare_spread: Uint8Array },
    ...{ coolant_in_C: Float64Array, coolant_out_C: Float64Array, skin_C: Float64Array, spare_V: Float64Array },
  },
  flow: { ...BASE, pulse_tick: Uint32Array, pulses: Uint16Array, flow_Lpmin: Float64Array },
  mark: BASE,
};

const rowsOf = (stream: BlockStream): unknown => ({ n: 0, ...Object.fromEntries(Object.entries(COLUMNS[stream]).map(([name, Of]) => [name, new Of(START_rows)])) });

export function newBlock(): Block {
  return {
    from_s: 0,
    to_s: 0,
    force: rowsOf('force') as ForceRows,
    edge: rowsOf('edge') as EdgeRows,
    hot: rowsOf('hot') as HotRows,
    water: rowsOf('water') as WaterRows,
    flow: rowsOf('flow') as FlowRows,
    mark: rowsOf('mark') as MarkRows,
    other: [],
    order: new Uint8Array(START_rows),
    n: 0,
    boots: [],
  };
}

/** Empties a block, to be filled again. */
export function clearBlock(block: Block, from_s: number): void {
  block.from_s = from_s;
  block.to_s = from_s;
  for (const rows of [block.force, block.edge, block.hot, block.water, block.flow, block.mark]) rows.n = 0;
  block.other.length = 0;
  block.boots.length = 0;
  block.n = 0;
}

/** Makes room for one more row. @returns its number */
export function rowIn(rows: Rows): number {
  if (rows.n === rows.tick.length) grow(rows as unknown as Record<string, Column | number>);
  return rows.n++;
}

export function orderIn(block: Block, stream: number): void {
  if (block.n === block.order.length) block.order = doubled(block.order) as Uint8Array;
  block.order[block.n++] = stream;
}

function grow(rows: Record<string, Column | number>): void {
  for (const [name, column] of Object.entries(rows)) if (typeof column !== 'number') rows[name] = doubled(column);
}

function doubled(column: Column): Column {
  const larger = new (column.constructor as Kind)(2 * column.length);
  larger.set(column);
  return larger;
}

/** Field columns, by stream, in the order of the table of messages; the tick comes first and apart. */
const FIELDS: { readonly [S in BlockStream]: readonly string[] } = {
  edge: [],
  force: ['count', 'flags'],
  hot: ['word'],
  water: ['in_sum', 'out_sum', 'skin_sum', 'spare_sum', 'in_spread', 'out_spread', 'skin_spread', 'spare_spread'],
  flow: ['pulse_tick', 'pulses'],
  mark: [],
};

/** One message of a block, with the tick whole and the number of its boot. */
export interface BlockMessage {
  readonly boot: number;
  readonly tick: number;
  readonly message: BoardMessage;
}

/** All of a block in the order of the line. */
export function* rowsInOrder(block: Block): Generator<BlockMessage> {
  const next = STREAMS.map(() => 0);
  for (let i = 0; i < block.n; i++) {
    const stream = block.order[i] as number;
    const row = next[stream] as number;
    next[stream] = row + 1;
    const name = STREAMS[stream] as (typeof STREAMS)[number];
    yield name === 'other' ? (block.other[row] as BlockMessage) : rowAt(block, name, row);
  }
}

/** The messages of a block as they stood on the wire. */
export function messagesOf(block: Block): BoardMessage[] {
  return Array.from(rowsInOrder(block), (row) => row.message);
}

function rowAt(block: Block, name: BlockStream, row: number): BlockMessage {
  const rows = block[name];
  const columns = rows as unknown as Record<string, Column>;
  const tick = rows.tick[row] as number;
  const message: Record<string, string | number> = { name, seq: rows.seq[row] as number, tick: tick % 2 ** 32 };
  for (const field of FIELDS[name]) message[field] = columns[field]?.[row] as number;
  return { boot: rows.boot[row] as number, tick, message: message as unknown as BoardMessage };
}
