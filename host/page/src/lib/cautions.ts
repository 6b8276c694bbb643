/** As hardware-notes/safety.md says it at length. */
export const cautions: readonly string[] = [
  'Hot end, burner and exhaust burn skin and set things alight long after the flame is out: keep a clear space, and something to put a fire out with.',
  'Guard the flywheel, the brake and the shaft. Loose sleeves, hair and cables go on the shaft; a wheel that bursts goes everywhere. If the load falls off, the engine runs away.',
  'Coolant that stands boils: steam and hot water leave where you do not expect it. Keep the vent open, and never pour cold water into a hot jacket.',
  'This software only advises. It can be late, wrong or stopped. Flame or heater need a cut-out of their own in hardware that works without it.',
  'Gas, mains, pressure vessels and open flame are under local rules: keep to them, and leave to a licensed person what they reserve for one. Do not leave a running engine alone.',
];
