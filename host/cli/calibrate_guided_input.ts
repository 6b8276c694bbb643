import { createInterface } from 'node:readline';

import type { Terminal } from './calibrate_guided_screen.js';

/** Lines that were typed or piped in, and a terminal to print on while they are typed. */
export interface Input extends Terminal {
  /** Waiting lines, oldest first. */
  readonly waiting: string[];
  /** No more will come. */
  readonly closed: boolean;
  /** Ctrl-C, or a signal to end. */
  left: boolean;
  /** Called when a line comes, or it closes or is left. */
  wake: () => void;
  end(): void;
}

/** On a terminal the live line is the prompt of the line editor, so that what is being typed stays whole. */
export function openInput(stdin: NodeJS.ReadStream, stdout: NodeJS.WriteStream, json: boolean): Input {
  const inPlace = stdin.isTTY && stdout.isTTY && !json;
  const editor = createInterface({ input: stdin, ...(inPlace ? { output: stdout } : {}), terminal: inPlace });
  let shown = '';
  const leave = (): void => {
    state.left = true;
    state.wake();
  };
  const state = {
    waiting: [] as string[],
    closed: false,
    left: false,
    inPlace,
    wake: (): void => undefined,
    lines(text: string): void {
      if (!inPlace) {
        stdout.write(`${text}\n`);
        return;
      }
      // The live line is taken away, the text put in its place, and the line drawn again with what was typed.
      stdout.write(`\r\x1b[J${text.replace(/\n/g, '\r\n')}\r\n`);
      editor.prompt(true);
    },
    live(text: string): void {
      const prompt = text === '' ? '> ' : `${text} > `;
      if (!inPlace || prompt === shown) return;
      shown = prompt;
      editor.setPrompt(prompt);
      editor.prompt(true);
    },
    end(): void {
      for (const signal of ['SIGTERM', 'SIGINT'] as const) process.removeListener(signal, leave);
      if (inPlace) stdout.write('\r\x1b[J');
      editor.close();
      stdin.pause();
      // A file has none.
      if ('unref' in stdin) stdin.unref();
    },
  };
  editor.on('line', (line) => {
    state.waiting.push(line.trim());
    state.wake();
  });
  editor.on('close', () => {
    state.closed = true;
    state.wake();
  });
  editor.on('SIGINT', leave);
  for (const signal of ['SIGTERM', 'SIGINT'] as const) process.on(signal, leave);
  return state;
}
