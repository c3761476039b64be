// What is asked for only when it is shown or heard: the items of a voice, the
// events of the score. Typing does not wait for them.
import { askBinary } from "./api";
import { Cell } from "./cell";
import { repaint } from "./look/frames";
import { itemsOf, scoreOf, type Events, type Items, type Work } from "./work";

interface Parts {
  items: Map<number, Items | null>; // null: asked for
  score: Promise<Events> | null;
}

const kept = new WeakMap<Work, Parts>();

/** Counts what has come, so that components can show it. */
export const arrivals = new Cell(0);

function partsOf(work: Work): Parts {
  let parts = kept.get(work);
  if (!parts) kept.set(work, (parts = { items: new Map(), score: null }));
  return parts;
}

/** The items that a voice had last, shown until the new ones have come: typing makes nothing flicker. */
const before = new Map<string, Items>();

/** The items of a voice, perhaps those of the text before, or null while there are none. */
export function items(work: Work, voice: number): Items | null {
  const { items } = partsOf(work);
  const name = `${work.title} ${work.voices[voice].name}`;
  const have = items.get(voice);
  if (have !== undefined) return have ?? before.get(name) ?? null;
  items.set(voice, null);
  askBinary("part", { id: work.id, voice })
    .then((answer) => {
      const come = itemsOf(answer);
      items.set(voice, come);
      if (before.size > 100) before.clear();
      before.set(name, come);
      arrivals.update((n) => n + 1);
      repaint();
    })
    .catch(() => {}); // the text has gone on: the next work asks again
  return before.get(name) ?? null;
}

/** The events of the score. */
export function score(work: Work): Promise<Events> {
  const parts = partsOf(work);
  return (parts.score ??= askBinary("part", { id: work.id, score: true }).then(scoreOf));
}
