/** Units in which values are shown. What is stored and sent stays in SI. Pure. */

export interface Unit {
  readonly name: string;
  /** For a screen reader. */
  readonly said: string;
  /** shown = factor * value + offset. */
  readonly factor: number;
  readonly offset: number;
}

const unit = (name: string, said: string, factor: number, offset = 0): Unit => ({ name, said, factor, offset });

/** 1 gf at standard gravity (9.80665 m/s2, CGPM 1901) on 1 cm. */
const gf_cm_Nm = 9.80665e-5;

export const choices = {
  torque: [unit('mN·m', 'millinewton metres', 1000), unit('N·m', 'newton metres', 1), unit('gf·cm', 'gram force centimetres', 1 / gf_cm_Nm)],
  power: [unit('W', 'watts', 1), unit('mW', 'milliwatts', 1000)],
  temperature: [unit('°C', 'degrees Celsius', 1), unit('°F', 'degrees Fahrenheit', 1.8, 32)],
  flow: [unit('L/min', 'litres a minute', 1), unit('mL/min', 'millilitres a minute', 1000)],
} as const satisfies Record<string, readonly Unit[]>;

export type Kind = keyof typeof choices;
export const kinds = Object.keys(choices) as Kind[];
export type Chosen = Readonly<Record<Kind, number>>;

export const preset: Chosen = { torque: 0, power: 0, temperature: 0, flow: 0 };

/** What was kept, made whole; nonsense is the preset. */
export function chosenOf(kept: string | null): Chosen {
  try {
    const read = JSON.parse(kept ?? '{}') as Partial<Record<string, unknown>>;
    const one = (kind: Kind): number => choices[kind].findIndex((u) => u.name === read[kind]);
    return Object.fromEntries(kinds.map((kind) => [kind, Math.max(0, one(kind))])) as Record<Kind, number>;
  } catch {
    return preset;
  }
}

export const keptOf = (chosen: Chosen): string => JSON.stringify(Object.fromEntries(kinds.map((kind) => [kind, unitOf(kind, chosen).name])));

export function unitOf(kind: Kind, chosen: Chosen): Unit {
  return choices[kind][chosen[kind]] ?? choices[kind][0];
}

const rpm = unit('rev/min', 'revolutions a minute', 1);
const newton = unit('N', 'newtons', 1);

/** The unit of a value of the bench by its name; a difference has no offset. */
export function unitFor(name: string, chosen: Chosen): Unit {
  if (name.endsWith('_rpm')) return rpm;
  if (name.endsWith('_Nm')) return unitOf('torque', chosen);
  if (name.endsWith('_N')) return newton;
  if (name.endsWith('_W')) return unitOf('power', chosen);
  if (name.endsWith('_Lpmin')) return unitOf('flow', chosen);
  const { factor, name: degree } = unitOf('temperature', chosen);
  if (name.endsWith('_K')) return factor === 1 ? unit('K', 'kelvins', 1) : unit(degree, 'degrees Fahrenheit of difference', factor);
  return unitOf('temperature', chosen);
}

/** Digits behind the point, so that the interval has two that count; without one three. */
export const digitsFor = (U: number): number => (U > 0 ? Math.min(6, Math.max(0, 1 - Math.floor(Math.log10(U)))) : 3);

export interface Written {
  readonly digits: string;
  /** Half of the 95 % interval, in the same digits; null: not known. */
  readonly within: string | null;
}

/**
 * @param U95 in the unit of the value; null: not known
 * @param figures at most so many in the value where it has digits behind the point: more cannot be read from afar
 */
export function written(value: number, U95: number | null, { factor, offset }: Unit, figures = Infinity): Written {
  const U = U95 === null ? null : U95 * factor;
  const whole = Math.max(1, 1 + Math.floor(Math.log10(Math.max(1, Math.abs(value * factor + offset)))));
  const exact = U === null ? 3 : digitsFor(U);
  const n = Math.min(exact, Math.max(0, figures - whole));
  const minus = (text: string): string => (Number(text) === 0 ? text.replace('-', '') : text.replace('-', '\u2212'));
  return { digits: minus((value * factor + offset).toFixed(n)), within: U === null ? null : U.toFixed(exact) };
}
