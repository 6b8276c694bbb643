import type { FlowModel, LoadModel, Model } from '../../../../host/sense/calibration/model.js';
import type { Place } from '../../../../host/sense/calibration/record.js';
import type { CalibrationDraft } from '../../../../host/store/records/calibrations.js';

export const at = (boot_id: number, tick: number): Place => ({ boot_id, tick });

export const loadModel = (coefficients: readonly number[] = [8000, 500_000, 0], more: Partial<LoadModel> = {}): LoadModel => ({
  kind: 'torque',
  unit: 'Nm',
  degree: coefficients[2] === 0 ? 1 : 2,
  coefficients,
  sources: [{ source: { id: 'cal: load test', says: 'test', kind: 'systematic', shape: 'normal', dof: null }, c_u: coefficients.map(() => 1) }],
  dof: 8,
  residual_sd_count: 3,
  x_range: [0, 0.2],
  arm_m: null,
  u_arm_m: null,
  errors: [],
  ...more,
});

export const flowModel = (c0: number): FlowModel => ({ kind: 'fixed', coefficients: [c0], sources: [], f_range_Hz: null, errors: [] });

export const draft = (more: Partial<CalibrationDraft> & { model?: Model } = {}): CalibrationDraft => ({
  rig_id: 1,
  channel: 'load',
  from: at(1, 0),
  to: null,
  model: loadModel(),
  data: { points: [1, 2, 3] },
  author: 'tester',
  remark: '',
  replaces: null,
  ...more,
});
