// Finds the slots in a stretch of paper without looking at all of them.
import { after, type Piano, type Slots, type Work } from "../work";

const block = 256;

/** The slots of one piano, which are ordered by their leading edges. */
export class SlotIndex {
  readonly from: number;
  readonly to: number;
  private readonly reach: Float64Array; // the latest trailing edge of each block of slots

  constructor(
    readonly slots: Slots,
    piano: Piano,
  ) {
    this.from = piano.slots.from;
    this.to = piano.slots.from + piano.slots.count;
    this.reach = new Float64Array(Math.ceil(piano.slots.count / block));
    for (let b = 0; b < this.reach.length; b++) {
      let most = -Infinity;
      const end = Math.min(this.to, this.from + (b + 1) * block);
      for (let i = this.from + b * block; i < end; i++) if (slots.trail[i] > most) most = slots.trail[i];
      this.reach[b] = most;
    }
  }

  /** Calls visit with every slot that has a part between two places along the paper, in order. */
  each(low: number, high: number, visit: (slot: number) => void): void {
    const { lead, trail } = this.slots;
    const end = after(lead, high, this.from, this.to);
    for (let b = 0; b < this.reach.length; b++) {
      const start = this.from + b * block;
      if (start >= end) return;
      if (this.reach[b] < low) continue;
      const stop = Math.min(end, start + block);
      for (let i = start; i < stop; i++) if (trail[i] >= low) visit(i);
    }
  }

  /** The slot of a port nearest to a place, within a tolerance; -1 when there is none. */
  at(port: number, along: number, tolerance: number): number {
    let found = -1;
    let best = tolerance;
    this.each(along - tolerance, along + tolerance, (i) => {
      if (this.slots.port[i] !== port) return;
      const d = Math.max(0, this.slots.lead[i] - along, along - this.slots.trail[i]);
      if (d <= best) {
        best = d;
        found = i;
      }
    });
    return found;
  }

  /** The first slot whose leading edge lies after a place, to `to`. */
  next(along: number): number {
    return after(this.slots.lead, along, this.from, this.to);
  }
}

const kept = new WeakMap<Work, Map<number, SlotIndex>>();

export function slotIndex(work: Work, piano: number): SlotIndex {
  let map = kept.get(work);
  if (!map) kept.set(work, (map = new Map()));
  let index = map.get(piano);
  if (!index) map.set(piano, (index = new SlotIndex(work.slots, work.pianos[piano])));
  return index;
}
