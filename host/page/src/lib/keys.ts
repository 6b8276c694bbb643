import { padKey } from './pad.js';

/** A box to tick takes no digits: on it the keys of the pad still do what they say. */
const writes = (target: EventTarget | null): boolean =>
  target instanceof HTMLInputElement ? target.type !== 'checkbox' : target instanceof HTMLElement && (target.isContentEditable || ['TEXTAREA', 'SELECT'].includes(target.tagName));

/** @param act told of each key that is no writing; true: it was taken. @returns ends it */
export function onPad(act: (key: string) => boolean): () => void {
  const heard = (event: KeyboardEvent): void => {
    if (event.repeat || writes(event.target)) return;
    const key = padKey({ key: event.key, code: event.code, modified: event.ctrlKey || event.altKey || event.metaKey });
    if (key === null) return;
    // Enter on a button presses that button.
    if (key === 'Enter' && event.target instanceof HTMLElement && ['BUTTON', 'A'].includes(event.target.tagName)) return;
    if (act(key)) event.preventDefault();
  };
  document.addEventListener('keydown', heard);
  return () => document.removeEventListener('keydown', heard);
}
