import type { GuideState } from '../serve/guide_desk.js';
import type { Output } from './output.js';

type State = NonNullable<GuideState>;

/** What a terminal is, for what it is used here. */
export interface Terminal {
  /** Prints whole lines above the live one. */
  lines(text: string): void;
  /** The one line that changes in place. */
  live(text: string): void;
  /** Whether there is such a line. */
  readonly inPlace: boolean;
}

const WIDTH = 78;
/** Words, not colours, tell them apart. */
const marks = { told: '  ', taken: '+ ', warning: '! ', refused: 'x ' } as const;

/** Says to a person, or as JSON one event a line to a program, what has changed since the last state. */
export class Screen {
  readonly #output: Output;
  readonly #terminal: Terminal;
  #said = 0;
  #step = 0;
  #helped = new Set<string>();
  #preview = '';
  #live = '';

  constructor(output: Output, terminal: Terminal) {
    this.#output = output;
    this.#terminal = terminal;
  }

  show(state: State): void {
    for (const said of state.said.filter((s) => s.n > this.#said)) {
      this.#said = said.n;
      this.#event({ event: 'said', kind: said.kind, text: said.text }, () => hanging(marks[said.kind], said.text));
    }
    const isNew = state.step !== this.#step;
    this.#step = state.step;
    this.#showPreview(state, isNew);
    if (state.ended !== null) {
      this.#event({ event: 'ended', ended: state.ended }, () => '');
      return;
    }
    if (isNew) this.#showStep(state);
    this.#showLive(state);
  }

  /** All the words of this step, when they are asked for. */
  help({ prompt }: State): void {
    const words = [...prompt.words, { word: 'quit', says: 'leave; this can be gone on with' }];
    this.#event({ event: 'words', words }, () => wordsText(words));
  }

  refused(message: string): void {
    this.#event({ event: 'said', kind: 'refused', text: message }, () => hanging(marks.refused, message));
  }

  told(message: string): void {
    this.#event({ event: 'said', kind: 'told', text: message }, () => hanging(marks.told, message));
  }

  #showStep({ step, prompt }: State): void {
    this.#event({ event: 'step', step, ...prompt }, () => {
      const example = prompt.example === null ? '' : `\n${hanging('  ', `For example: ${prompt.example}`)}`;
      const kind = prompt.asks === 'choice' ? prompt.id : prompt.asks;
      const first = !this.#helped.has(kind);
      this.#helped.add(kind);
      const words = prompt.asks === 'choice' || (first && prompt.asks === 'reading') ? `\n${wordsText(prompt.words)}` : '';
      return `\n${hanging('', prompt.says)}${example}${words}`;
    });
  }

  #showLive({ live }: State): void {
    if (live === null) {
      this.#live = '';
      this.#terminal.live('');
      return;
    }
    const why = live.why_not ?? (live.settled ? 'settled' : '');
    const text = `${live.reading ?? 'no reading'} | ${why}`;
    if (this.#output.json) {
      // A value that only trembles is no event; why it is not taken is one.
      const changed = `${live.settled} ${why.replace(/[-\d.]+/g, '#')}`;
      if (changed !== this.#live) this.#output.data({ event: 'live', ...live }, '');
      this.#live = changed;
    } else if (this.#terminal.inPlace) this.#terminal.live(text.slice(0, WIDTH - 4));
    else {
      const changed = why.replace(/[-\d.]+/g, '#');
      if (changed !== this.#live && why !== '') this.#terminal.lines(hanging('  ', `... ${text}`));
      this.#live = changed;
    }
  }

  #showPreview({ preview, prompt }: State, isNew: boolean): void {
    if (preview === null || prompt.id !== 'result' || !isNew) return;
    const text = JSON.stringify(preview);
    if (text === this.#preview) return;
    this.#preview = text;
    this.#event({ event: 'result', result: preview }, () => `\n${(preview as { text: readonly string[] }).text.join('\n')}`);
  }

  #event(value: object, text: () => string): void {
    if (this.#output.json) this.#output.data(value, '');
    else {
      const lines = text();
      if (lines !== '') this.#terminal.lines(lines);
    }
  }
}

function wordsText(words: readonly { readonly word: string; readonly says: string }[]): string {
  const width = Math.max(...words.map((w) => w.word.length)) + 2;
  return words.map((w) => hanging(`  ${w.word.padEnd(width)}`, w.says)).join('\n');
}

/** Broken at blanks to the width of a plain terminal, continued under its first word. */
export function hanging(head: string, text: string): string {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(' ')) {
    if (line !== '' && head.length + line.length + 1 + word.length > WIDTH) {
      lines.push(line);
      line = word;
    } else line = line === '' ? word : `${line} ${word}`;
  }
  lines.push(line);
  return lines.map((l, i) => (i === 0 ? head : ' '.repeat(head.length)) + l).join('\n');
}
