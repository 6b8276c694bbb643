/**
 * When a run counts as verified: a zero before it and one after, and a check mass that passed, none of them further off than
 * this, all under the calibration that the run has (common practice, no source).
 */
export const verifiedWithin_h = 2;
