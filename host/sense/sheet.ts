import { withPresets } from './presets.js';
import type { SourcedRow } from './presets.js';


const practice = 'common practice, no source';

/**
 * The rig sheet: what a builder reads off data sheets, or leaves at its preset. Every entry is a limit or a size that
 * no calibration shows; it ends up as a line of a budget. Presets are for the parts of hardware-notes/.
 */
export const sheetRows = {
  cell_capacity_N: { unit: 'N', preset: 9.8, least: 0.1, most: 10_000, says: 'rated load of the cell', source: 'a 1 kg bar cell' },
  cell_zero_share_per_K: { unit: '1/K', preset: 5e-5, least: 0, most: 1e-2, says: 'change of zero with temperature, as a share of capacity', source: 'data sheets: 0.05 % of capacity per 10 K for a good cell; ten times that for a cheap bar' },
  cell_slope_share_per_K: { unit: '1/K', preset: 2e-5, least: 0, most: 1e-2, says: 'change of sensitivity with temperature, as a share of the reading', source: practice },
  cell_nonlinearity_share: { unit: '', preset: 5e-4, least: 0, most: 0.05, says: 'largest departure from a straight line, as a share of capacity', source: 'data sheets: 0.03 to 0.05 %' },
  cell_creep_share: { unit: '', preset: 5e-4, least: 0, most: 0.05, says: 'creep in 30 minutes, as a share of the load', source: 'data sheets: 0.03 %; cheap bars 0.05 to 0.1 %' },
  cell_temperature_span_K: { unit: 'K', preset: 5, least: 0, most: 80, says: 'how far the cell may warm between two zeros', source: practice },
  couple_class: { unit: '', preset: 2, least: 1, most: 2, says: 'tolerance class of the thermocouple', source: 'IEC 60584-1: class 1 1.5 K or 0.4 %, class 2 2.5 K or 0.75 %' },
  couple_converter_K: { unit: 'K', preset: 2, least: 0, most: 20, says: 'limit of the converter\'s own error at the couple', source: 'MAX31855 data sheet: 2 K from -200 to 700 C, 4 K up to 1350 C' },
  couple_junction_K: { unit: 'K', preset: 2, least: 0, most: 20, says: 'limit of the converter\'s own error at its junction', source: 'MAX31855 data sheet: 2 K from -20 to 85 C' },
  couple_noise_K: { unit: 'K', preset: 0.15, least: 0, most: 5, says: 'noise of one reading of the converter, where too few of them show it', source: practice },
  adc_nonlinearity_LSB: { unit: 'LSB', preset: 0.5, least: 0, most: 10, says: 'integral nonlinearity of the board\'s analog converter', source: 'ATmega328P data sheet, typical value' },
  adc_offset_LSB: { unit: 'LSB', preset: 2, least: 0, most: 10, says: 'offset of the board\'s analog converter', source: 'ATmega328P data sheet, typical value' },
  adc_gain_LSB: { unit: 'LSB', preset: 2, least: 0, most: 10, says: 'error of the analog converter at the end of its range beyond its offset', source: 'ATmega328P data sheet, typical value' },
  thermistor_fixed_ohm: { unit: 'ohm', preset: 10_000, least: 100, most: 1e6, says: 'fixed resistor beside each thermistor', source: 'hardware-notes/coolant.md' },
  thermistor_fixed_share: { unit: '', preset: 1e-3, least: 0, most: 0.2, says: 'tolerance of the fixed resistor', source: 'hardware-notes/coolant.md: 0.1 %' },
  thermistor_ohm_share: { unit: '', preset: 1e-2, least: 0, most: 0.2, says: 'tolerance of the thermistor at 25 C', source: 'a 1 % part' },
  thermistor_beta_share: { unit: '', preset: 1e-2, least: 0, most: 0.2, says: 'tolerance of the thermistor\'s B', source: 'a 1 % part' },
  thermistor_dissipation_mW_K: { unit: 'mW/K', preset: 5, least: 0.1, most: 100, says: 'power that warms a thermistor by one kelvin in the water', source: practice },
  supply_V: { unit: 'V', preset: 5, least: 2.5, most: 5.5, says: 'supply of the dividers', source: 'hardware-notes/board.md' },
  pressure_mV_per_kPa: { unit: 'mV/kPa', preset: 90, least: 0.1, most: 10_000, says: 'slope of a pressure sensor at the spare input, at supply_V; it must be ratiometric', source: 'MPX5050 data sheet, from memory: 90 mV/kPa at 5 V' },
  pressure_slope_share: { unit: '', preset: 0.025, least: 0, most: 0.5, says: 'limit of the error of that slope', source: 'MPX5050 data sheet, from memory: 2.5 % of full scale' },
  crystal_share: { unit: '', preset: 1e-4, least: 0, most: 0.02, says: 'limit of the board clock\'s error before it was measured', source: 'a crystal; a ceramic resonator is up to 5e-3' },
} as const satisfies Record<string, SourcedRow>;

export type SheetName = keyof typeof sheetRows;
export type Sheet = Readonly<Record<SheetName, number>>;

/** All presets, with what the builder has told. */
export const sheetOf = (told: Partial<Record<SheetName, number>> = {}): Sheet => withPresets(sheetRows, told);
