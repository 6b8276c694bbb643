import type { ThermistorName } from './thermistor.js';
import type { LastingFault } from './wear.js';

/** What goes wrong, and when. `count` means that many events from then on; `for_s` a span. */
export type Fault =
  | LastingFault
  | { readonly kind: 'missed_pulse'; readonly t_s: number; readonly count: number }
  | { readonly kind: 'double_pulse'; readonly t_s: number; readonly count: number; readonly gap_s: number }
  | { readonly kind: 'magnet_slip'; readonly t_s: number; readonly magnet: number; readonly angle_deg: number }
  | { readonly kind: 'zero_shift'; readonly t_s: number; readonly counts: number }
  | { readonly kind: 'bridge_wire'; readonly t_s: number; readonly for_s: number }
  | { readonly kind: 'bridge_stuck'; readonly t_s: number; readonly for_s: number }
  | { readonly kind: 'bridge_unplugged'; readonly t_s: number; readonly for_s: number }
  | { readonly kind: 'bridge_desync'; readonly t_s: number; readonly count: number; readonly pulse: 'lost' | 'extra' }
  | { readonly kind: `thermocouple_${'open' | 'short_gnd' | 'short_vcc' | 'dead' | 'stuck' | 'absent'}`; readonly t_s: number; readonly for_s: number }
  | { readonly kind: 'thermistor_open' | 'thermistor_short'; readonly t_s: number; readonly for_s: number; readonly sensor: ThermistorName }
  | { readonly kind: 'thermistors_swapped' | 'flow_lost'; readonly t_s: number; readonly for_s: number }
  | { readonly kind: 'air_pocket'; readonly t_s: number; readonly share: number }
  | { readonly kind: 'unplug'; readonly t_s: number; readonly for_s: number }
  | { readonly kind: 'reset'; readonly t_s: number }
  | { readonly kind: 'line_noise'; readonly t_s: number; readonly for_s: number; readonly share: number };

/** What the world does to the board itself: each depth carries it out its own way. */
export type BoardEvent =
  | { readonly kind: 'reset' }
  | { readonly kind: 'cable'; readonly plugged: boolean }
  | { readonly kind: 'bridge'; readonly plugged: boolean }
  | { readonly kind: 'bridge_clock'; readonly pulse: 'lost' | 'extra'; readonly count: number }
  | { readonly kind: 'line_noise'; readonly share: number };
