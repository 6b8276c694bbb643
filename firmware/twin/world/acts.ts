import { fail } from '../../../host/errors.js';

/** What a person at the bench can do. */
export type Act =
  /** pieces_g: what it is made up of, where there are several; radius_m: where, unless it is the cell's line. */
  | { readonly kind: 'hang'; readonly mass_kg: number; readonly pieces_g?: readonly number[]; readonly radius_m?: number }
  | { readonly kind: 'brake' | 'heat'; readonly level: number | 'programme' }
  | { readonly kind: 'flick'; readonly speed_rpm: number }
  | { readonly kind: 'flow'; readonly flow_Lpmin: number | 'programme' }
  | { readonly kind: 'bath'; readonly bath_C: number | 'off' }
  | { readonly kind: 'catch'; readonly for_s: number }
  /** Puts the engine together anew; null: of the parts that it has. */
  | { readonly kind: 'build'; readonly name: string | null }
  | { readonly kind: 'move'; readonly strokes: number; readonly for_s: number }
  | { readonly kind: 'bleed' | 'press' | 'tap' }
  | { readonly kind: 'unplug'; readonly for_s: number }
  | { readonly kind: 'reset' };

interface ActHelp {
  readonly usage: string;
  readonly says: string;
}

/** The acts as a person types them. */
export const actList: Readonly<Record<Act['kind'] | 'rebuild', ActHelp>> = {
  hang: {
    usage: 'hang 100 g + 50 g at 50 mm',
    says: 'hangs those masses on the arm and takes off what hung there; without a radius, at that of the cell; "hang 0" takes all off',
  },
  tap: { usage: 'tap', says: 'taps the arm, so that its bearings come free' },
  brake: { usage: 'brake 0.4', says: 'sets the brake, 0 (off) to 1 (full); "brake programme" gives it back to the scenario' },
  heat: { usage: 'heat 0.8', says: 'sets the heater, 0 to 1; "heat programme" gives it back to the scenario' },
  flick: { usage: 'flick 200', says: 'spins the flywheel by hand to that many rev/min' },
  flow: { usage: 'flow 0.5 L/min', says: 'sets the coolant\'s flow; "flow 0" stops it, "flow programme" gives it back to the scenario' },
  bath: { usage: 'bath 25 C', says: 'puts the three thermistors into one bath, at that temperature by its thermometer; "bath off" puts them back' },
  catch: { usage: 'catch 60 s', says: 'holds a bucket under the coolant for that time; what the scale then shows is caught_g of /truth/now' },
  bleed: { usage: 'bleed', says: 'lets the air out of the jacket' },
  build: { usage: 'build B', says: 'takes the engine apart and puts that build of the scenario together; the shaft then stands' },
  rebuild: { usage: 'rebuild', says: 'takes the engine apart and puts the same parts together anew' },
  move: { usage: 'move displacer 20 times in 30 s', says: 'moves the displacer there and back by hand, where no shaft is fitted' },
  press: { usage: 'press', says: 'presses the button of the bench once: a mark' },
  unplug: { usage: 'unplug 2 s', says: 'pulls the cable to the computer for that time; the board runs on' },
  reset: { usage: 'reset', says: 'presses the reset button of the board' },
};

const HANG_MAX_g = 5000;
const PIECES_MAX = 20;
const RADIUS_MAX_mm = 1000;
const BATH_MAX_C = 100;
const CATCH_MAX_s = 3600;
const STROKES_MAX = 1000;
const FLICK_MAX_rpm = 3000;
const FLOW_MAX_Lpmin = 10;
const UNPLUG_MAX_s = 86_400;
const inGrams: Readonly<Record<string, number>> = { g: 1, kg: 1000, mg: 0.001 };
const inMillimetres: Readonly<Record<string, number>> = { mm: 1, cm: 10, m: 1000 };
const inCelsius: Readonly<Record<string, number>> = { C: 1 };
const inLpmin: Readonly<Record<string, number>> = { 'L/min': 1, 'mL/min': 0.001, 'L/h': 1 / 60 };
const inSeconds: Readonly<Record<string, number>> = { s: 1, ms: 0.001, min: 60 };

/**
 * Reads one act as typed. Words may be joined ("100g").
 * @throws BAD_ACT naming the wrong word, what is wrong with it, and the acts there are
 */
export function parseAct(text: string): Act {
  const words = text.trim().split(/\s+|(?<=[a-z])(?=\+)|(?<=\+)(?=\d)/i).flatMap(splitUnit).filter((w) => w !== '');
  const refuse = (word: string, why: string) =>
    fail('BAD_ACT', { act: text.slice(0, 80), word: `"${word.slice(0, 40)}"`, why, acts: Object.values(actList).map((a) => a.usage).join('; ') });
  const [verb, ...rest] = words;
  if (verb === undefined) throw refuse('', 'names no act');

  const end = (from: number): void => {
    const more = rest[from];
    if (more !== undefined) throw refuse(more, 'is one word too many');
  };
  const number = (low: number, high: number, unit: string, from = 0): number => {
    const word = rest[from];
    if (word === undefined) throw refuse(rest[from - 1] ?? verb, `needs a number after it${unit === '' ? '' : `, in ${unit}`}`);
    const value = Number(word);
    if (!Number.isFinite(value)) throw refuse(word, 'is no number');
    if (value < low || value > high) throw refuse(word, `is outside ${low} to ${high}${unit === '' ? '' : ` ${unit}`}`);
    return value;
  };
  const scaledAt = (from: number, units: Readonly<Record<string, number>>, high: number, base: string): number => {
    const unit = rest[from + 1];
    const factor = unit === undefined ? undefined : units[unit];
    const value = number(0, factor === undefined ? high : high / factor, unit ?? base, from);
    if (unit === undefined && value !== 0) throw refuse(rest[from] ?? '', `needs a unit after it: ${Object.keys(units).join(', ')}`);
    if (unit !== undefined && factor === undefined) throw refuse(unit, `is no unit here; use ${Object.keys(units).join(', ')}`);
    return value * (factor ?? 1);
  };
  const scaled = (units: Readonly<Record<string, number>>, high: number, base: string): number => {
    const value = scaledAt(0, units, high, base);
    end(2);
    return value;
  };
  /** "100 g + 50 g at 50 mm" */
  const hang = (): Act => {
    const pieces_g = [scaledAt(0, inGrams, HANG_MAX_g, 'g')];
    let at = 2;
    for (; rest[at] === '+'; at += 3) {
      if (pieces_g.length === PIECES_MAX) throw refuse('+', `would hang more than ${PIECES_MAX} masses`);
      pieces_g.push(scaledAt(at + 1, inGrams, HANG_MAX_g, 'g'));
    }
    const whole = { kind: 'hang', mass_kg: pieces_g.reduce((s, g) => s + g, 0) / 1000, ...(pieces_g.length > 1 ? { pieces_g } : {}) } as const;
    if (rest[at] !== 'at') {
      end(at);
      return whole;
    }
    const radius_m = scaledAt(at + 1, inMillimetres, RADIUS_MAX_mm, 'mm') / 1000;
    if (radius_m === 0) throw refuse(rest[at + 1] ?? '', 'is no radius: nothing hangs on the axis');
    end(at + 3);
    return { ...whole, radius_m };
  };

  switch (verb) {
    case 'hang':
      return hang();
    case 'brake':
    case 'heat': {
      if (rest[0] === 'programme') {
        end(1);
        return { kind: verb, level: 'programme' };
      }
      const level = number(0, 1, '');
      end(1);
      return { kind: verb, level };
    }
    case 'flick': {
      const speed_rpm = number(0, FLICK_MAX_rpm, 'rev/min');
      end(1);
      return { kind: 'flick', speed_rpm };
    }
    case 'unplug':
      return { kind: 'unplug', for_s: scaled(inSeconds, UNPLUG_MAX_s, 's') };
    case 'flow': {
      if (rest[0] !== 'programme') return { kind: 'flow', flow_Lpmin: scaled(inLpmin, FLOW_MAX_Lpmin, 'L/min') };
      end(1);
      return { kind: 'flow', flow_Lpmin: 'programme' };
    }
    case 'bath': {
      if (rest[0] !== 'off') return { kind: 'bath', bath_C: scaled(inCelsius, BATH_MAX_C, 'C') };
      end(1);
      return { kind: 'bath', bath_C: 'off' };
    }
    case 'catch': {
      const for_s = scaled(inSeconds, CATCH_MAX_s, 's');
      if (for_s === 0) throw refuse(rest[0] ?? '', 'is no time');
      return { kind: 'catch', for_s };
    }
    case 'build': {
      const name = text.trim().slice(verb.length).trim();
      if (name === '') throw refuse(verb, 'needs the name of a build after it');
      return { kind: 'build', name };
    }
    case 'rebuild':
      end(0);
      return { kind: 'build', name: null };
    case 'move': {
      if (rest[0] !== 'displacer') throw refuse(rest[0] ?? verb, 'moves nothing; it is "move displacer 20 times in 30 s"');
      const strokes = number(1, STROKES_MAX, '', 1);
      if (rest[2] !== 'times' || rest[3] !== 'in') throw refuse(rest[2] ?? rest[1] ?? verb, 'is not followed as in "move displacer 20 times in 30 s"');
      const for_s = scaledAt(4, inSeconds, CATCH_MAX_s, 's');
      if (for_s === 0) throw refuse(rest[4] ?? '', 'is no time');
      end(6);
      return { kind: 'move', strokes, for_s };
    }
    case 'bleed':
    case 'press':
    case 'tap':
      end(0);
      return { kind: verb };
    case 'reset':
      end(0);
      return { kind: 'reset' };
    default:
      throw refuse(verb, 'is no act');
  }
}

/** What was done, in words, for the person who did it. */
export function actInWords(act: Act): string {
  switch (act.kind) {
    case 'hang':
      return hungInWords(act);
    case 'tap':
      return 'the arm was tapped';
    case 'bath':
      return act.bath_C === 'off' ? 'the thermistors are back in their places' : `the thermistors are in a bath that its thermometer shows at ${act.bath_C} C`;
    case 'catch':
      return `a bucket catches the coolant for ${act.for_s} s; then caught_g of /truth/now is what the scale shows`;
    case 'brake':
    case 'heat':
      return act.level === 'programme' ? `the ${act.kind} follows its programme` : `the ${act.kind} is set to ${act.level}`;
    case 'flick':
      return `the flywheel was spun to ${act.speed_rpm} rev/min`;
    case 'flow':
      return act.flow_Lpmin === 'programme' ? 'the flow follows its programme' : `the coolant flows at ${Number(act.flow_Lpmin.toPrecision(12))} L/min`;
    case 'build':
      return act.name === null ? 'the same parts are put together anew; the shaft stands' : `build ${act.name} is on the bench; the shaft stands`;
    case 'move':
      return `the displacer is moved ${act.strokes} times in ${act.for_s} s`;
    case 'bleed':
      return 'the air is out of the jacket';
    case 'press':
      return 'the button was pressed';
    case 'unplug':
      return `the cable is out for ${act.for_s} s`;
    case 'reset':
      return 'the board was reset';
  }
}

function hungInWords({ mass_kg, pieces_g, radius_m }: Extract<Act, { kind: 'hang' }>): string {
  if (mass_kg === 0) return 'nothing hangs on the arm';
  const short = (value: number): string => String(Number(value.toPrecision(12)));
  const pieces = pieces_g === undefined ? '' : ` (${pieces_g.map((g) => `${short(g)} g`).join(' + ')})`;
  return `${short(mass_kg * 1000)} g${pieces} hangs on the arm${radius_m === undefined ? '' : ` at ${short(radius_m * 1000)} mm`}`;
}

/** "100g" is two words; "100" and "g" stay as they are. */
function splitUnit(word: string): string[] {
  const joined = /^([-+]?[\d.]+)([a-z/]+)$/i.exec(word);
  return joined === null ? [word] : [joined[1] ?? '', joined[2] ?? ''];
}
