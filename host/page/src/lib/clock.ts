/** The only place of the page that knows time; a test asserts it. */

/** Of the machine that shows the page, in ms. */
export const now_ms = (): number => Date.now();

/** Runs on even when the machine's clock is set; for how long something took. */
export const elapsed_ms = (): number => performance.now();

/** @returns cancels it */
export function after(ms: number, act: () => void): () => void {
  const id = setTimeout(act, ms);
  return () => clearTimeout(id);
}

/** @returns ends it */
export function every(ms: number, act: () => void): () => void {
  const id = setInterval(act, ms);
  return () => clearInterval(id);
}

/** Calls together many changes into one redraw, at the next frame. */
export function oncePerFrame(draw: () => void): () => void {
  let asked = false;
  return () => {
    if (asked) return;
    asked = true;
    requestAnimationFrame(() => {
      asked = false;
      draw();
    });
  };
}
