// The single punches of the paper in view. They are many, so the server is
// asked for a stretch at a time, when the paper is near enough to show them.
import { askBinary } from "../api";
import { repaint } from "../look/frames";
import type { Work } from "../work";

const stretch = 400; // millimetres

type Places = Map<number, number[]>; // by slot

const kept = new WeakMap<Work, Map<string, Places | null>>();

/** Centres along the paper of a slot's punches; undefined while they are not known. */
export function punchesOf(work: Work, piano: number, slot: number): number[] | undefined {
  let map = kept.get(work);
  if (!map) kept.set(work, (map = new Map()));
  const from = Math.floor(work.slots.lead[slot] / stretch);
  const key = `${piano}:${from}`;
  const places = map.get(key);
  if (places) return places.get(slot);
  if (places === undefined) {
    map.set(key, null);
    void load(work, piano, from, map, key);
  }
  return undefined;
}

async function load(work: Work, piano: number, n: number, map: Map<string, Places | null>, key: string): Promise<void> {
  try {
    const { arrays } = await askBinary("punches", { id: work.id, piano, from: n * stretch, to: (n + 1) * stretch });
    const places: Places = new Map();
    for (let i = 0; i < arrays.punch_slot.length; i++) {
      const slot = arrays.punch_slot[i];
      const list = places.get(slot);
      if (list) list.push(arrays.punch_at[i]);
      else places.set(slot, [arrays.punch_at[i]]);
    }
    map.set(key, places);
    repaint();
  } catch {
    // The slots are shown whole; asked again with the next analysis.
  }
}
