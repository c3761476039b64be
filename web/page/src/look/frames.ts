// One clock for everything that is painted: painters run before the next
// repaint when something changed, and at every repaint while the music plays.

type Painter = () => void;

const painters = new Set<Painter>();
let asked = false;
let running = false;

function frame(): void {
  asked = false;
  for (const paint of painters) paint();
  if (running) ask();
}

function ask(): void {
  if (asked) return;
  asked = true;
  requestAnimationFrame(frame);
}

/** Something changed: paint once. */
export function repaint(): void {
  ask();
}

/** Paint at every frame, or stop doing so. */
export function animate(on: boolean): void {
  running = on;
  ask();
}

export function addPainter(paint: Painter): () => void {
  painters.add(paint);
  ask();
  return () => painters.delete(paint);
}
