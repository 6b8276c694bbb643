import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Events } from '../../../firmware/twin/chip/events.js';

describe('the event queue', () => {
  it('handles events by cycle, units before the world, the world in filing order', () => {
    const plan = fc.array(fc.record({ cycle: fc.nat(8), slot: fc.option(fc.nat(3), { freq: 1 }), cancelled: fc.boolean() }), { maxLength: 60 });
    fc.assert(
      fc.property(plan, (filed) => {
        const events = new Events();
        const seen: string[] = [];
        const slots = [0, 1, 2, 3].map((n) => events.slot(() => seen.push(`${events.handling_cycle} unit ${n}`)));
        const due = new Map<number, number>();
        const world: { cycle: number; name: string }[] = [];
        filed.forEach(({ cycle, slot, cancelled }, index) => {
          if (slot === null) {
            const name = `${cycle} world ${index}`;
            world.push({ cycle, name });
            events.file(cycle, () => seen.push(`${events.handling_cycle} world ${index}`));
          } else if (cancelled) {
            due.delete(slot);
            events.cancel(slots[slot] ?? NaN);
          } else {
            due.set(slot, cycle);
            events.set(slots[slot] ?? NaN, cycle);
          }
        });
        const units = [...due].sort(([a], [b]) => a - b).map(([slot, cycle]) => ({ cycle, name: `${cycle} unit ${slot}` }));
        const wanted = [...units, ...world].sort((a, b) => a.cycle - b.cycle).map(({ name }) => name);
        while (events.next_cycle < Infinity) events.runNext();
        expect(seen).toEqual(wanted);
      }),
    );
  });

  it('lets a handler file for the same cycle', () => {
    const events = new Events();
    const seen: number[] = [];
    events.file(5, () => {
      seen.push(1);
      events.file(5, () => seen.push(3));
    });
    events.file(5, () => seen.push(2));
    while (events.next_cycle < Infinity) events.runNext();
    expect(seen).toEqual([1, 2, 3]);
    expect(events.handling_cycle).toBe(-1);
  });
});
