import { told } from '../../sense/uncertainty/budget.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import { plainValue } from '../values/plain.js';
import type { TorqueCurve } from './torque_curve.js';

const short = (q: Quantity): { value: number; u: number; U95: number } => {
  const { value, u, U95 } = told(q);
  return { value, u, U95 };
};

/** Names of the values of a curve, as the view of curves has them. */
export const curveNames = ['peak_power_W', 'peak_speed_rpm', 'peak_torque_Nm', 'free_speed_rpm', 'stall_torque_Nm'] as const;

/** The curve as plain JSON: no function in it, each value with its budget. */
export function plainCurve(c: TorqueCurve): Readonly<Record<string, unknown>> {
  return {
    state: c.state,
    why: c.why,
    ...Object.fromEntries(curveNames.map((name) => [name, plainValue(c[name], true)])),
    peak_points: c.peak_points,
    last_stable: c.last_stable === null ? null : { ...c.last_stable, speed_rpm: short(c.last_stable.speed_rpm), torque_Nm: short(c.last_stable.torque_Nm) },
    brake: { ...c.brake, exponent: c.brake.exponent === null ? null : short(c.brake.exponent) },
    points: c.points.map((p) => ({ n: p.n, branch: p.branch, override: p.override, speed_rpm: short(p.speed), torque_Nm: short(p.torque_Nm), power_W: short(p.power_W), residual_Nm: p.residual_Nm, off: p.off })),
    left_out: c.left_out,
    band: c.band.map((b) => ({ speed_rpm: b.speed_rpm, torque_Nm: short(b.torque_Nm), power_W: short(b.power_W) })),
    models: c.curve === null ? [] : c.curve.models.map((m) => ({ degree: m.degree, weight: m.weight, aicc: m.aicc, chi2: m.chi2, dof: m.dof, coefficients: m.coefficients.map((q) => q.value) })),
    scatter_factor: c.curve?.scatter_factor ?? null,
    branches: c.branches === null ? null : { ...c.branches, up_less_down_Nm: c.branches.up_less_down_Nm === null ? null : short(c.branches.up_less_down_Nm) },
    warnings: c.warnings,
    verified: c.verified,
    lacks: c.lacks,
  };
}
