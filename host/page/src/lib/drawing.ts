/** Units across a drawing, one about a pixel: a phone has fewer of them, so that words in it are as large as everywhere. */
export const across = (wide: number): number => Math.min(wide, Math.max(300, innerWidth - 32));
