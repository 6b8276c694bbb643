import { told } from '../../sense/uncertainty/budget.js';
import type { Told } from '../../sense/uncertainty/budget.js';
import type { Values } from './span_values.js';
import { valueNames } from './value.js';
import type { Value, ValueName, ValueState } from './value.js';

/** A value as JSON has it; null with a reason. */
export type PlainValue = Partial<Omit<Told, 'value'>> & { readonly value: number | null; readonly state: ValueState; readonly reason: string | null };

export type PlainValues = Omit<Values, ValueName | 'acceleration'> & Readonly<Record<ValueName, PlainValue>> & { readonly acceleration: { readonly rad_s2: number; readonly u_rad_s2: number; readonly torque: PlainValue | null } | null };

/** Without functions or sources, as it is printed and sent. @param withBudget every line of every budget too */
export function plainValues(values: Values, withBudget: boolean): PlainValues {
  const plain = (v: Value): PlainValue => plainValue(v, withBudget);
  const named = Object.fromEntries(valueNames.map((name) => [name, plain(values[name])])) as Record<ValueName, PlainValue>;
  const { acceleration } = values;
  const torque = acceleration?.torque ?? null;
  return { ...values, ...named, acceleration: acceleration === null ? null : { ...acceleration, torque: torque === null ? null : plain({ quantity: torque, state: 'measured', reason: null }) } };
}

export function plainValue({ quantity, state, reason }: Value, withBudget: boolean): PlainValue {
  if (quantity === null) return { value: null, state, reason };
  const { budget, ...rest } = told(quantity);
  return { ...rest, state, reason, ...(withBudget ? { budget } : {}) };
}
