/** The first page: what the bench says now, who it is, and what a bench can do to a person. */

export const pageHtml = `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>smallbrake</title>
<link rel="icon" href="data:,">
<link rel="stylesheet" href="/page.css">
<script src="/page.js" defer></script>
</head>
<body>
<h1>smallbrake</h1>
<p id="simulated" role="status" hidden>SIMULATED: these values come from an emulated board and a computed engine, not from a bench.</p>
<p id="state" role="status">not connected</p>
<p id="record" role="status"></p>
<dl>
<dt>Torque</dt><dd><output id="torque_Nm">not measured</output></dd>
<dt>Speed</dt><dd><output id="speed_rpm">not measured</output></dd>
<dt>Shaft power</dt><dd><output id="power_W">not measured</output></dd>
<dt>Force on the cell</dt><dd><output id="force_N">not measured</output></dd>
<dt>Hot end</dt><dd><output id="hot_C">not measured</output></dd>
<dt>Coolant in</dt><dd><output id="coolant_in_C">not measured</output></dd>
<dt>Coolant out</dt><dd><output id="coolant_out_C">not measured</output></dd>
<dt>Coolant out less in</dt><dd><output id="coolant_difference_K">not measured</output></dd>
<dt>Coolant flow</dt><dd><output id="flow_Lpmin">not measured</output></dd>
<dt>Heat into the coolant</dt><dd><output id="coolant_heat_W">not measured</output></dd>
</dl>
<p>Means of the last whole revolutions, or of the last seconds. &plusmn; is half of the interval that holds the true value in 95 of 100.</p>
<h2>As the sensors say it</h2>
<dl>
<dt>Load cell</dt><dd><output id="count">not measured</output></dd>
<dt>Shaft speed, last fifth of a second</dt><dd><output id="speed">not measured</output></dd>
<dt>Thermocouple (converter's own number)</dt><dd><output id="hot">not measured</output></dd>
<dt>Converter itself</dt><dd><output id="junction">not measured</output></dd>
<dt>Input of coolant in</dt><dd><output id="in">not measured</output></dd>
<dt>Input of coolant out</dt><dd><output id="out">not measured</output></dd>
<dt>Spare thermistor</dt><dd><output id="skin">not measured</output></dd>
<dt>Spare input</dt><dd><output id="spare">not measured</output></dd>
<dt>Coolant flow meter</dt><dd><output id="flow">not measured</output></dd>
<dt>Last mark</dt><dd><output id="mark">none</output></dd>
<dt>Recorded</dt><dd><output id="rows">unknown</output></dd>
<dt>Board</dt><dd><output id="board">none</output></dd>
</dl>
<section>
<h2>Before the engine runs</h2>
<ul>
<li>Hot end, burner and exhaust burn skin and set things alight long after the flame is out: keep a clear space, and something to put a fire out with.</li>
<li>Guard the flywheel, the brake and the shaft. Loose sleeves, hair and cables go on the shaft; a wheel that bursts goes everywhere. If the load falls off, the engine runs away.</li>
<li>Coolant that stands boils: steam and hot water leave where you do not expect it. Keep the vent open, and never pour cold water into a hot jacket.</li>
<li>This software only advises. It can be late, wrong or stopped. Flame or heater need a cut-out of their own in hardware that works without it.</li>
<li>Gas, mains, pressure vessels and open flame are under local rules: keep to them, and leave to a licensed person what they reserve for one. Do not leave a running engine alone.</li>
</ul>
</section>
</body>
</html>
`;

export const pageStyle = `:root { color-scheme: light dark; font: 18px/1.4 system-ui, sans-serif; }
body { max-width: 46rem; margin: 1rem auto; padding: 0 1rem; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .3rem 1.5rem; }
dd { margin: 0; font-variant-numeric: tabular-nums; font-weight: 600; }
#simulated { border: .3rem double; padding: .5rem; font-weight: 700; text-align: center; }
#record:empty { display: none; }
output small { font-weight: 400; display: block; }
output.none { font-weight: 400; }
section { font-size: .85rem; }
`;

/** Plain script: the page is one file and needs no build. */
export const pageScript = `'use strict';
const put = (id, text) => { document.getElementById(id).textContent = text; };
const none = 'not measured';
const live = ['force', 'speed', 'hot', 'water', 'flow', 'values'];
/** Name: unit and factor from that of the name. */
const values = {
  torque_Nm: ['mNm', 1000], speed_rpm: ['rev/min', 1], power_W: ['W', 1], force_N: ['N', 1], hot_C: ['°C', 1], coolant_in_C: ['°C', 1],
  coolant_out_C: ['°C', 1], coolant_difference_K: ['K', 1], flow_Lpmin: ['L/min', 1], coolant_heat_W: ['W', 1],
};
const words = { unverified: 'unverified', uncalibrated: 'not calibrated', not_measured: none };
/** Digits behind the point, so that the interval has two that count. */
const digits = (U) => U > 0 ? Math.min(8, Math.max(0, 1 - Math.floor(Math.log10(U)))) : 3;
/** A number and, smaller, what there is to say of it; text only, never markup. */
const tell = (id, number, remark) => {
  const output = document.getElementById(id);
  output.textContent = number;
  output.className = number === none || number === words.uncalibrated ? 'none' : '';
  if (remark === null) return;
  const small = document.createElement('small');
  small.textContent = remark;
  output.append(small);
};

const show = {
  state(s) {
    document.getElementById('simulated').hidden = s.simulated !== true;
    put('state', s.status === 'live' ? 'live' : s.status + ': ' + s.reason);
    put('record', s.record.state === 'recording' ? '' : s.record.reason || s.record.state);
    put('board', s.board === null ? 'none' : s.board.id + ', firmware ' + s.board.firmware + ', boot ' + s.board.boot_id);
  },
  force(f) {
    put('count', f === null ? none : f.count === null ? none + ' (flags ' + f.flags + ')' : f.count + ' counts');
  },
  speed(s) {
    put('speed', s === null ? none : s.speed_rpm.toFixed(1) + ' rev/min' + (s.state === 'slowing' ? ' or less' : ''));
  },
  hot(h) {
    const number = (C) => h === null ? none : h.fault !== null ? none + ' (' + h.fault + ')' : C(h).toFixed(2) + ' °C';
    put('hot', number((m) => m.converter_C));
    put('junction', number((m) => m.junction_C));
  },
  water(w) {
    for (const id of ['in', 'out', 'skin', 'spare']) {
      const i = w === null ? null : w[id];
      put(id, i === null ? none : i.fault !== null ? none + ' (' + i.fault + ')' : (i.ratio * 100).toFixed(2) + ' % of supply');
    }
  },
  flow(f) {
    put('flow', f === null ? none : f.pulse_rate_Hz === null ? none + ' (one pulse so far)' :
      f.pulse_rate_Hz.toFixed(2) + ' pulses/s' + (f.state === 'stopped' ? ' (no pulse for ' + f.pulse_age_s.toFixed(0) + ' s)' : f.state === 'slowing' ? ' or less' : ''));
  },
  values(all) {
    for (const [id, [unit, factor]] of Object.entries(values)) {
      const v = all === null ? null : all[id];
      if (v === null) tell(id, none, null);
      else if (v.value === null) tell(id, words[v.state], v.reason);
      else {
        const n = digits(v.U95 * factor);
        tell(id, (v.value * factor).toFixed(n) + ' \u00b1 ' + (v.U95 * factor).toFixed(n) + ' ' + unit, v.state === 'measured' ? null : words[v.state] + ': ' + v.reason);
      }
    }
  },
  mark(m) { put('mark', m === null ? 'none' : m.utc_us === null ? 'set' : new Date(m.utc_us / 1000).toLocaleTimeString()); },
  recorded(r) { put('rows', Object.entries(r).map(([stream, n]) => n + ' ' + stream).join(', ')); },
};

const take = {
  snapshot(s) {
    show.state(s.state);
    for (const channel of live) show[channel](s[channel]);
    show.mark(s.mark);
    show.recorded(s.counts.rows);
  },
  ...show,
};

let socket = null;
function open() {
  if (socket !== null || document.hidden) return;
  socket = new WebSocket((location.protocol === 'https:' ? 'wss://' : 'ws://') + location.host + '/stream');
  socket.onopen = () => socket.send(JSON.stringify({ subscribe: [...live, 'mark', 'state', 'recorded'], rate_Hz: 5 }));
  socket.onmessage = (event) => {
    const message = JSON.parse(event.data);
    if (message.v === 1 && Object.hasOwn(take, message.channel)) take[message.channel](message.value);
  };
  socket.onclose = () => {
    socket = null;
    put('state', 'no connection to the daemon; trying again');
    for (const channel of live) show[channel](null);
    setTimeout(open, 1000);
  };
}
// A hidden page lets go of the stream, or it would be flooded with old values when it is shown again.
document.addEventListener('visibilitychange', () => { if (document.hidden) { if (socket !== null) socket.close(); } else open(); });
open();
`;
