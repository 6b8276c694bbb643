import { describe, expect, it } from 'vitest';

import { columnsOf, usedIn } from '../../../../host/store/runs/used.js';

describe('what a working out rested on', () => {
  it('comes back from its columns as it was, each list its own', () => {
    const used = { cal_ids: [1, 2], zero_ids: [3], check_ids: [4, 5, 6], entered_ids: [], settings: { set: ['window_s=30'] }, version: '0.1.0', author: 'bench' };
    expect(usedIn(columnsOf(used))).toEqual(used);
    expect(usedIn(columnsOf({ ...used, settings: undefined })).settings).toBeNull();
  });
});
