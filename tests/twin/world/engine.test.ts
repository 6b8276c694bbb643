import { describe, expect, it } from 'vitest';
import { Arm } from '../../../firmware/twin/world/arm.js';
import { makeBrake } from '../../../firmware/twin/world/brake.js';
import { HotEnd, rad_per_s, rpm_of, Shaft, TorqueCurve } from '../../../firmware/twin/world/engine.js';
import type { EngineRig, Retarder } from '../../../firmware/twin/world/engine.js';

const dt = 0.0005;
const free: Retarder = { torque_Nm: () => 0 };
const rig = (over: Partial<EngineRig>): EngineRig => ({
  inertia_kgm2: 0.002,
  friction_dry_Nm: 0,
  friction_viscous_Nms: 0,
  friction_windage_Nms2: 0,
  torque_curve: [{ speed_rpm: 0, torque_Nm: 0 }],
  cyclic_share: 0,
  hot_lag_s: 0,
  hot_start: 0,
  start_rpm: 0,
  ...over,
});
const run = (shaft: Shaft, t_s: number, heat: number, brake: Retarder): void => {
  for (let i = 0; i < Math.round(t_s / dt); i++) shaft.step(heat, brake);
};

describe('coast-down', () => {
  it('decays exponentially with viscous friction', () => {
    const shaft = new Shaft(rig({ friction_viscous_Nms: 1e-4, start_rpm: 1200 }), dt);
    run(shaft, 30, 0, free);
    const exact = rad_per_s(1200) * Math.exp((-1e-4 / 0.002) * 30);
    expect(shaft.speed_rad_s / exact).toBeCloseTo(1, 8);
    // The angle is the integral of the speed.
    expect(shaft.angle_rad / ((rad_per_s(1200) - exact) * (0.002 / 1e-4))).toBeCloseTo(1, 8);
  });

  it('falls in a straight line with dry friction, stops, and stays', () => {
    const shaft = new Shaft(rig({ friction_dry_Nm: 0.004, start_rpm: 600 }), dt);
    run(shaft, 10, 0, free);
    expect(shaft.speed_rad_s).toBeCloseTo(rad_per_s(600) - 2 * 10, 9);
    run(shaft, 100, 0, free);
    expect(shaft.speed_rad_s).toBe(0);
    expect(shaft.angle_rad).toBeCloseTo(rad_per_s(600) ** 2 / (2 * 2), 2);
  });

  it('follows 1/(1/w0 + c t/I) with windage alone', () => {
    const shaft = new Shaft(rig({ friction_windage_Nms2: 2e-6, start_rpm: 1500 }), dt);
    run(shaft, 20, 0, free);
    expect(shaft.speed_rad_s * (1 / rad_per_s(1500) + (2e-6 / 0.002) * 20)).toBeCloseTo(1, 7);
  });

  it('is the same backwards', () => {
    const there = new Shaft(rig({ friction_dry_Nm: 0.003, friction_viscous_Nms: 1e-4, start_rpm: 900 }), dt);
    const back = new Shaft(rig({ friction_dry_Nm: 0.003, friction_viscous_Nms: 1e-4, start_rpm: -900 }), dt);
    run(there, 5, 0, free);
    run(back, 5, 0, free);
    expect(back.speed_rad_s).toBe(-there.speed_rad_s);
  });
});

describe('steady running', () => {
  const torque_curve = [
    { speed_rpm: 0, torque_Nm: 0.05 },
    { speed_rpm: 1200, torque_Nm: 0 },
  ];

  it('settles where the engine makes what an eddy brake takes', () => {
    const brake = makeBrake({ kind: 'eddy', coefficient_full_Nms: 6e-4, critical_rpm: 6000, resistivity_per_K: 0, disc_heat_capacity_J_K: 40, disc_cooling_W_K: 0.1 });
    brake.setting = 0.5;
    const shaft = new Shaft(rig({ torque_curve, friction_dry_Nm: 0.003 }), dt);
    run(shaft, 120, 1, brake);
    const w = shaft.speed_rad_s;
    const engine_Nm = 0.05 * (1 - rpm_of(w) / 1200) - 0.003;
    const brake_Nm = (0.5 * 6e-4 * w) / (1 + (rpm_of(w) / 6000) ** 2);
    expect(engine_Nm).toBeCloseTo(brake_Nm, 9);
    expect(rpm_of(w)).toBeGreaterThan(500);
  });

  it('is stalled by a rope, which then holds what the engine makes, and starts when the rope lets go', () => {
    const brake = makeBrake({ kind: 'rope', force_difference_full_N: 4, drum_diameter_m: 0.038, rope_diameter_m: 0.002 });
    brake.setting = 1;
    expect(brake.torque_Nm(50)).toBeCloseTo(4 * 0.02, 12);
    const shaft = new Shaft(rig({ torque_curve, friction_dry_Nm: 0.003, start_rpm: 400 }), dt);
    run(shaft, 20, 1, brake);
    expect(shaft.speed_rad_s).toBe(0);
    expect(shaft.brake_Nm).toBeCloseTo(0.05 - 0.003, 12);
    brake.setting = 0.25;
    run(shaft, 120, 1, brake);
    expect(rpm_of(shaft.speed_rad_s)).toBeCloseTo(1200 * (1 - (0.02 + 0.003) / 0.05), 3);
  });

  it('keeps the energy: what the gas gives is in the flywheel, the friction and the brake', () => {
    const brake = makeBrake({ kind: 'eddy', coefficient_full_Nms: 6e-4, critical_rpm: 6000, resistivity_per_K: 0.004, disc_heat_capacity_J_K: 40, disc_cooling_W_K: 0.1 });
    brake.setting = 0.6;
    const shaft = new Shaft(rig({ torque_curve, friction_dry_Nm: 0.003, friction_viscous_Nms: 2e-5, cyclic_share: 0.8, start_rpm: 100 }), dt);
    const start_J = 0.5 * 0.002 * shaft.speed_rad_s ** 2;
    let given_J = 0;
    let spent_J = 0;
    for (let i = 0; i < 40 / dt; i++) {
      shaft.step(1, brake);
      const turned = shaft.angle_rad - shaft.angle_before_rad;
      given_J += shaft.drive_Nm * turned;
      spent_J += (shaft.friction_Nm + shaft.brake_Nm) * turned;
      brake.absorb((shaft.brake_Nm * turned) / dt, dt);
    }
    const kept_J = 0.5 * 0.002 * shaft.speed_rad_s ** 2 - start_J;
    expect(given_J).toBeGreaterThan(20);
    expect((spent_J + kept_J) / given_J).toBeCloseTo(1, 9);
  });
});

describe('eddy brake', () => {
  const eddy = { kind: 'eddy', coefficient_full_Nms: 6e-4, critical_rpm: 3000, resistivity_per_K: 0.004, disc_heat_capacity_J_K: 40, disc_cooling_W_K: 0 } as const;

  it('is linear far below its critical speed and greatest at it', () => {
    const brake = makeBrake(eddy);
    brake.setting = 1;
    expect(brake.torque_Nm(1) / 6e-4).toBeCloseTo(1, 4);
    const wc = rad_per_s(3000);
    expect(brake.torque_Nm(wc)).toBeCloseTo((6e-4 * wc) / 2, 12);
    expect(brake.torque_Nm(wc * 1.05)).toBeLessThan(brake.torque_Nm(wc));
    expect(brake.torque_Nm(wc * 0.95)).toBeLessThan(brake.torque_Nm(wc));
  });

  it('fades as its disc warms, by the heat it took', () => {
    const brake = makeBrake(eddy);
    brake.setting = 1;
    const cold = brake.torque_Nm(10);
    for (let i = 0; i < 200 / dt; i++) brake.absorb(8, dt);
    expect(brake.warm_K).toBeCloseTo((8 * 200) / 40, 6);
    expect(cold / brake.torque_Nm(10)).toBeCloseTo(1 + 0.004 * 40, 3);
  });
});

describe('torque curve', () => {
  it('draws lines between its points, in any order of asking, and is level outside', () => {
    const curve = new TorqueCurve([
      { speed_rpm: 0, torque_Nm: 0.02 },
      { speed_rpm: 300, torque_Nm: 0.05 },
      { speed_rpm: 900, torque_Nm: 0.01 },
    ]);
    for (const [rpm, Nm] of [[600, 0.03], [150, 0.035], [900, 0.01], [0, 0.02], [2000, 0.01], [-50, 0.02], [300, 0.05]] as const) {
      expect(curve.at(rad_per_s(rpm))).toBeCloseTo(Nm, 12);
    }
  });
});

describe('hot end', () => {
  it('reaches 63 % of a step of its source after one lag', () => {
    const hot = new HotEnd(45, 0, dt);
    for (let i = 0; i < 45 / dt; i++) hot.step(1);
    expect(hot.level).toBeCloseTo(1 - Math.exp(-1), 9);
  });
});

describe('arm', () => {
  it('rings at its frequency, decays by its damping and ends at the applied force', () => {
    const arm = new Arm({ length_m: 0.05, ring_Hz: 25, damping: 0.05 }, dt);
    const w0 = 2 * Math.PI * 25;
    const wd = w0 * Math.sqrt(1 - 0.05 ** 2);
    for (let n = 1; n <= 400; n++) {
      arm.step(2);
      const t = n * dt;
      const exact = 2 * (1 - Math.exp(-0.05 * w0 * t) * (Math.cos(wd * t) + ((0.05 * w0) / wd) * Math.sin(wd * t)));
      expect(arm.force_N).toBeCloseTo(exact, 10);
    }
    for (let n = 0; n < 20_000; n++) arm.step(2);
    expect(arm.force_N).toBeCloseTo(2, 12);
  });

  it('does not overshoot at critical damping', () => {
    const arm = new Arm({ length_m: 0.05, ring_Hz: 25, damping: 1 }, dt);
    let top = 0;
    for (let n = 0; n < 4000; n++) {
      arm.step(1);
      top = Math.max(top, arm.force_N);
    }
    expect(top).toBeLessThanOrEqual(1 + 1e-12);
    expect(arm.force_N).toBeCloseTo(1, 9);
  });
});
