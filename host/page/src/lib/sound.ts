import { after } from './clock.js';
import { patternOf } from './tones.js';
import type { Heard, Tone } from './tones.js';

export interface Sound {
  /** Plays it over and over from now on; null: silence. */
  readonly play: (heard: Heard | null) => void;
  /** Whether the browser lets it be heard: only after a first tap or key. */
  readonly heard: () => boolean;
}

/** As loud as the machine is set; a tone is let rise and fall so that it does not click. */
const LOUD = 0.9;
const EDGE_s = 0.008;
const AHEAD_s = 0.05;

/** @param changed called when what `heard` says may have changed */
export function makeSound(changed: () => void): Sound {
  let context: AudioContext | null = null;
  let now: string | null = null;
  let stop: () => void = () => undefined;

  const unlock = (): void => {
    context ??= new AudioContext();
    context.onstatechange = changed;
    if (context.state !== 'running') void context.resume().then(changed, changed);
  };
  // At every one: a machine that slept, or another program, may have taken the sound away again.
  for (const event of ['pointerdown', 'keydown'] as const) document.addEventListener(event, unlock, { capture: true, passive: true });

  const round = (tones: readonly Tone[]): void => {
    let ends_ms = 200;
    if (context !== null && context.state === 'running') {
      const nodes = sounded(context, tones);
      ends_ms = tones.reduce((sum, t) => sum + t.ms, 0);
      const next = after(ends_ms, () => round(tones));
      stop = () => {
        next();
        for (const node of nodes) node.stop();
      };
    } else stop = after(ends_ms, () => round(tones));
  };

  return {
    play: (heard) => {
      const name = heard === null ? null : `${heard.cause} ${heard.level}`;
      if (name === now) return;
      now = name;
      stop();
      stop = () => undefined;
      if (heard !== null) round(patternOf(heard));
    },
    heard: () => context?.state === 'running',
  };
}

/** One round of a pattern, given to the sound card with its times. */
function sounded(context: AudioContext, tones: readonly Tone[]): OscillatorNode[] {
  const nodes: OscillatorNode[] = [];
  let at_s = context.currentTime + AHEAD_s;
  for (const { from_Hz, to_Hz, ms } of tones) {
    const end_s = at_s + ms / 1000;
    if (from_Hz > 0) {
      const tone = context.createOscillator();
      const gain = context.createGain();
      // A square wave has more of what is heard through a hiss than a sine.
      tone.type = 'square';
      tone.frequency.setValueAtTime(from_Hz, at_s);
      tone.frequency.exponentialRampToValueAtTime(to_Hz, end_s);
      gain.gain.setValueAtTime(0, at_s);
      gain.gain.linearRampToValueAtTime(LOUD, at_s + EDGE_s);
      gain.gain.setValueAtTime(LOUD, end_s - EDGE_s);
      gain.gain.linearRampToValueAtTime(0, end_s);
      tone.connect(gain).connect(context.destination);
      tone.start(at_s);
      tone.stop(end_s);
      nodes.push(tone);
    }
    at_s = end_s;
  }
  return nodes;
}
