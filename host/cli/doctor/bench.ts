import { forceFlags } from '../../../protocol/messages.js';
import { waterInputs } from '../../sense/water.js';
import type { WaterInput } from '../../sense/water.js';
import { bad, ok, warn } from './finding.js';
import type { Finding } from './finding.js';
import { deviation } from './observed.js';
import type { Observed } from './observed.js';

/** Rates that the converter can be strapped for, and how far off its own oscillator may be. */
const FORCE_RATES_Hz = [10, 80];
const FORCE_RATE_SHARE = 0.15;
/** 24 bits with an amplifier before them: the last ones are never quiet. */
const STUCK_AFTER = 10;
/** A resonator of a hobby board is bought at 0.5 %. */
const CLOCK_MAX_ppm = 5000;
/** Beyond this something between board and host hands bytes over in lumps. */
const CLOCK_U_us = 2000;
/** Refused lines, of all. */
const REFUSED_SHARE = 0.01;

const hotFaultSays: Readonly<Record<string, string>> = {
  open: 'the couple is open', short_gnd: 'the couple touches ground', short_vcc: 'the couple touches the supply',
  dead: 'the converter sends zeros only', absent: 'the converter does not answer', invalid: 'the converter sends no word that it can send',
};

/** What can be said of a board and its sensors after a few seconds. Pure. */
export function judgeBench(seen: Observed): Finding[] {
  return [judgeForce(seen), judgeEdges(seen), judgeHot(seen), ...waterInputs.map((input) => judgeInput(seen, input)), judgeFlow(seen), judgeLink(seen), judgeBoard(seen), judgeClock(seen)];
}

const per_s = ({ received, seconds }: Observed, stream: keyof Observed['received']): number => received[stream] / seconds;
const share = (n: number, of: number): string => `${n} of ${of}`;

function silent(what: string, { seconds }: Observed): Finding {
  return bad(what, `the board sent nothing of it in ${seconds.toFixed(1)} s`, 'Flash the board with firmware/release of this program; if that is what runs on it, please report this.');
}

function judgeForce(seen: Observed): Finding {
  const what = 'load cell';
  const { force, forceFlags: flagged } = seen.samples;
  const all = force.length + flagged.length;
  if (seen.received.force === 0 || all === 0) return bad(what, `no conversion in ${seen.seconds.toFixed(1)} s`, 'See to the converter\'s supply and its two wires: hardware-notes/load-cell.md.');
  const rate_Hz = per_s(seen, 'force');
  const sd = deviation(force);
  const says = `${rate_Hz.toFixed(1)} a second, spread of the counts ${sd === null ? 'unknown' : sd.toFixed(1)} (standard deviation of ${force.length})`;
  if (flagged.length > 0) {
    const bits = flagged.reduce((a, b) => a | b, 0);
    const named = Object.entries(forceFlags).flatMap(([name, f]) => ((bits & (1 << f.bit)) === 0 ? [] : [`${name}: ${f.says}`]));
    const line = `${share(flagged.length, all)} are no measurement (${named.join('; ')}); ${says}`;
    const todo = 'See hardware-notes/load-cell.md for what each means.';
    return flagged.length * 2 >= all ? bad(what, line, todo) : warn(what, line, todo);
  }
  if (force.length >= STUCK_AFTER && sd === 0) return bad(what, `stuck: ${force.length} conversions are all ${force[0] ?? ''}`, 'No converter is so quiet: see to the bridge\'s four wires, hardware-notes/load-cell.md.');
  if (!FORCE_RATES_Hz.some((f) => Math.abs(rate_Hz / f - 1) < FORCE_RATE_SHARE)) {
    return warn(what, `${says}; strapped converters give ${FORCE_RATES_Hz.join(' or ')}`, 'See to the strap and the data-ready wire: hardware-notes/load-cell.md.');
  }
  return ok(what, says);
}

function judgeEdges(seen: Observed): Finding {
  const what = 'shaft pickup';
  if (seen.received.edge === 0) return warn(what, `no edge in ${seen.seconds.toFixed(1)} s`, 'Right if the shaft stands: turn it by hand and look again. Else: hardware-notes/hall-pickup.md.');
  const { speed } = seen.samples;
  return ok(what, `${per_s(seen, 'edge').toFixed(1)} edges a second${speed === null ? '' : `, ${speed.speed_rpm.toFixed(0)} rpm`}`);
}

function judgeHot(seen: Observed): Finding {
  const what = 'hot end';
  if (seen.received.hot === 0) return silent(what, seen);
  const { hot_C, hotFaults } = seen.samples;
  const all = hot_C.length + hotFaults.length;
  const last = hotFaults.at(-1);
  if (last !== undefined) return warn(what, `${share(hotFaults.length, all)} words are faults (${last}: ${hotFaultSays[last] ?? last})`, 'See hardware-notes/hot-end.md; if none is fitted, leave it.');
  const sd = deviation(hot_C);
  return ok(what, `${per_s(seen, 'hot').toFixed(1)} a second, ${hot_C.at(-1)?.toFixed(2) ?? 'no'} C by the converter's own reckoning, spread ${sd === null ? 'unknown' : `${sd.toFixed(2)} K`}`);
}

const inputNames: Readonly<Record<WaterInput, string>> = { in: 'coolant in', out: 'coolant out', skin: 'skin thermistor', spare: 'spare input' };

function judgeInput(seen: Observed, input: WaterInput): Finding {
  const what = inputNames[input];
  if (seen.received.water === 0) return silent(what, seen);
  const { ratios, faults, coarse } = seen.samples.inputs[input];
  const last = faults.at(-1);
  if (last !== undefined) return warn(what, `at the ${last === 'low_end' ? 'low' : 'high'} end of its range`, `A thermistor that is open or shorted, or none: hardware-notes/coolant.md; if none is fitted, leave it.`);
  const sd = deviation(ratios);
  const quiet = coarse > 0 ? `; in ${share(coarse, ratios.length)} its noise spans under two steps, so the mean resolves no finer than one` : '';
  return ok(what, `${per_s(seen, 'water').toFixed(1)} a second, ${ratios.at(-1)?.toFixed(4) ?? 'no part'} of the supply, spread ${sd === null ? 'unknown' : sd.toExponential(1)}${quiet}`);
}

function judgeFlow(seen: Observed): Finding {
  const what = 'coolant flow';
  if (seen.received.flow === 0) return silent(what, seen);
  const { flow } = seen.samples;
  if (flow === null) return warn(what, 'no pulse came since the board\'s reset', 'Right if no coolant flows or no meter is fitted. Else: hardware-notes/coolant.md.');
  if (flow.state === 'stopped') return warn(what, `the pulses have stopped, the last came ${flow.pulse_age_s?.toFixed(0) ?? '?'} s ago`, 'Right if no coolant flows. Else see to pump, filter and meter: hardware-notes/coolant.md.');
  return ok(what, `${flow.state}, ${flow.pulse_rate_Hz === null ? 'not yet timed' : `${flow.pulse_rate_Hz.toFixed(2)} pulses a second`}`);
}

function judgeLink(seen: Observed): Finding {
  const { lines, refused, lost, seconds } = seen;
  const says = `${lines} lines in ${seconds.toFixed(1)} s, ${refused} refused, ${lost} messages missing`;
  const todo = 'Try another cable, shorter and away from mains and ignition; ground board and brake at one point.';
  if (lines === 0 || refused > lines * REFUSED_SHARE) return bad('link', says, todo);
  return refused > 0 || lost > 0 ? warn('link', says, todo) : ok('link', says);
}

/** Counters of losses that the board keeps; those of the bridge are told with the load cell. */
const LOSSES = ['lines_dropped', 'edges_lost', 'captures_overrun', 'forces_lost', 'rx_overruns', 'rx_framings', 'rx_bad_lines'];

function judgeBoard(seen: Observed): Finding {
  const { status } = seen.samples;
  if (status === null) return bad('board', `no status in ${seen.seconds.toFixed(1)} s; one is due each second`, 'Press its reset button; if that does not help, please report this.');
  const losses = LOSSES.flatMap((name) => ((status.fields[name] ?? 0) > 0 ? [`${name} ${status.fields[name] ?? 0}`] : []));
  const says = `stack never used ${status.fields['stack_free_min'] ?? '?'} bytes`;
  if (losses.length > 0) return warn('board', `lost since its reset: ${losses.join(', ')}`, 'rx_ and lines_ speak of cable and host, edges_ and captures_ of a pickup that bounces: hardware-notes/board.md.');
  return ok('board', `nothing lost since its reset, ${says}`);
}

function judgeClock({ clock }: Observed): Finding {
  const what = 'board clock';
  if (clock === null) return warn(what, 'not yet compared with this machine\'s', 'Wait a minute and look again.');
  const says = `${clock.ppm.toFixed(0)} ppm against this machine's (u = ${clock.u_ppm.toFixed(0)} ppm), times within u = ${clock.u_us.toFixed(0)} us`;
  if (Math.abs(clock.ppm) > CLOCK_MAX_ppm) return bad(what, `${says}; the limit is ${CLOCK_MAX_ppm} ppm`, 'The board\'s resonator is faulty, or its clock is not the 16 MHz it says.');
  if (clock.u_us > CLOCK_U_us) return warn(what, says, 'Bytes come in lumps or late: give the machine less to do, and see what is said of the port\'s latency.');
  return ok(what, says);
}
