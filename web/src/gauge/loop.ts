/** The one paint loop of the page. It runs while there is something to paint. */
export type Painter = (nowMs: number) => void;

const painters = new Set<Painter>();
let request = 0;

function turn(nowMs: number): void {
  request = requestAnimationFrame(turn);
  for (const painter of painters) painter(nowMs);
}

/** Returns what takes the painter off again. */
export function onPaint(painter: Painter): () => void {
  painters.add(painter);
  if (painters.size === 1) request = requestAnimationFrame(turn);
  return () => {
    painters.delete(painter);
    if (painters.size === 0) cancelAnimationFrame(request);
  };
}
