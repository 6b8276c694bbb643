/** Words for what happens at a bench most often, so that they are always the same (common practice, no source). */
export const markPresets: readonly string[] = [
  'flame on', 'flame off', 'heater up', 'heater down', 'engine started', 'engine stopped by itself', 'stopped by hand', 'brake changed',
  'bled jacket', 'coolant changed', 'ice added', 'oiled', 'gland adjusted', 'belt or rope reseated', 'touched the arm', 'door or draught',
];
