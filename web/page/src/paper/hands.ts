// What hands do with the paper: drag, wheel, pinch, keys.
import { repaint } from "../look/frames";
import { heard, seek } from "../sound/player";
import { shown } from "../state";
import type { Work } from "../work";
import { slotIndex } from "./slots";
import { alongAt, secAt } from "./transport";
import type { View } from "./view";

interface Spot {
  x: number;
  y: number;
}

export interface Reactions {
  /** A hole is pointed at or moved to; -1: none. */
  focus(slot: number, at: Spot | null, aloud: boolean): void;
  /** A hole is chosen. */
  choose(slot: number): void;
}

const farEnough = 4; // pixels that tell a drag from a press
const perKey = 1; // seconds

export class Hands {
  private readonly pointers = new Map<number, Spot>();
  private pressed: Spot | null = null;
  private dragged = false;
  focused = -1;

  constructor(
    private readonly view: View,
    private readonly work: () => Work | null,
    private readonly piano: () => number,
    private readonly react: Reactions,
  ) {}

  private get transport() {
    return this.view.piano.transport;
  }

  /** Moves the paper by so many pixels, down being later. */
  private pull(pixels: number): void {
    const { view } = this;
    if (this.focused >= 0) this.focusOn(-1, null, false); // its words would stay behind
    const way = view.piano.paper.travel === "down" ? 1 : -1;
    view.along = alongAt(this.transport, heard()) + (way * pixels) / view.zoom;
    const most = view.piano.paper.musicMM + view.height / 3 / view.zoom;
    view.along = Math.max(-view.piano.paper.leader, Math.min(most, view.along));
    seek(secAt(this.transport, view.along));
  }

  /** The slot under a spot of the screen; -1 when there is none. */
  slotAt(spot: Spot): number {
    const work = this.work();
    if (!work || this.view.zoom < 0.9) return -1;
    const across = this.view.acrossAt(spot.x);
    const near = 5 / this.view.zoom;
    let best = -1;
    let least = Math.max(this.view.piano.die / 2, near);
    this.view.piano.ports.forEach((p, i) => {
      const d = Math.abs(p.across - across);
      if (d < least) {
        least = d;
        best = i;
      }
    });
    return best < 0 ? -1 : slotIndex(work, this.piano()).at(best, this.view.alongAt(spot.y), near);
  }

  attach(canvas: HTMLCanvasElement): () => void {
    const spot = (e: PointerEvent | WheelEvent): Spot => {
      const r = canvas.getBoundingClientRect();
      return { x: e.clientX - r.left, y: e.clientY - r.top };
    };
    const on = {
      pointerdown: (e: PointerEvent) => {
        canvas.setPointerCapture(e.pointerId);
        this.pointers.set(e.pointerId, spot(e));
        this.pressed = spot(e);
        this.dragged = this.pointers.size > 1;
      },
      pointermove: (e: PointerEvent) => this.move(e.pointerId, spot(e), e.pointerType),
      pointerup: (e: PointerEvent) => {
        this.pointers.delete(e.pointerId);
        if (!this.dragged && this.pressed) {
          const slot = this.slotAt(spot(e));
          this.focusOn(slot, spot(e), false);
          if (slot >= 0) this.react.choose(slot);
        }
        this.pressed = null;
      },
      pointercancel: (e: PointerEvent) => this.pointers.delete(e.pointerId),
      pointerleave: () => this.pointers.size === 0 && this.focusOn(-1, null, false),
      wheel: (e: WheelEvent) => this.wheel(e, spot(e)),
      dblclick: (e: MouseEvent) => this.zoom(e.shiftKey ? 0.4 : 2.5, e.offsetX),
      keydown: (e: KeyboardEvent) => this.key(e),
    };
    for (const [name, f] of Object.entries(on)) {
      canvas.addEventListener(name, f as EventListener, { passive: false });
    }
    return () => {
      for (const [name, f] of Object.entries(on)) canvas.removeEventListener(name, f as EventListener);
    };
  }

  private focusOn(slot: number, at: Spot | null, aloud: boolean): void {
    if (slot === this.focused && !at) return;
    this.focused = slot;
    this.react.focus(slot, at, aloud);
    repaint();
  }

  private move(id: number, now: Spot, kind: string): void {
    const before = this.pointers.get(id);
    if (!before) {
      if (kind === "mouse" || kind === "pen") this.focusOn(this.slotAt(now), now, false);
      return;
    }
    if (this.pressed && Math.hypot(now.x - this.pressed.x, now.y - this.pressed.y) > farEnough) this.dragged = true;
    if (!this.dragged) return;
    if (this.pointers.size === 2) {
      const [other] = [...this.pointers].filter(([n]) => n !== id).map(([, p]) => p);
      const gap = (a: Spot) => Math.max(10, Math.hypot(a.x - other.x, a.y - other.y));
      this.zoom(gap(now) / gap(before), (now.x + other.x) / 2);
      this.view.shiftAcross((now.x - before.x) / 2);
      this.pull((now.y - before.y) / 2);
    } else {
      this.view.shiftAcross(now.x - before.x);
      this.pull(now.y - before.y);
    }
    this.pointers.set(id, now);
    repaint();
  }

  private wheel(e: WheelEvent, at: Spot): void {
    e.preventDefault();
    const unit = e.deltaMode === 1 ? 24 : e.deltaMode === 2 ? this.view.height : 1;
    if (e.ctrlKey || e.metaKey) {
      this.zoom(Math.exp(-e.deltaY * unit * (e.deltaMode ? 0.01 : 0.004)), at.x);
    } else if (e.shiftKey && e.deltaX === 0) {
      this.view.shiftAcross(-e.deltaY * unit);
      repaint();
    } else {
      this.view.shiftAcross(-e.deltaX * unit);
      this.pull(-e.deltaY * unit);
    }
  }

  zoom(factor: number, x?: number): void {
    // A finding that is looked at stays where it is.
    const now = shown.value?.finding.places[shown.value.place];
    const place = now && now.port >= 0 ? now.acrossMM : null;
    const seen = place === null ? -1 : this.view.x(place);
    const inView = seen > 0 && seen < this.view.width;
    this.view.zoomBy(factor, x ?? (inView ? seen : undefined));
    if (place !== null && inView) this.view.reveal(place, 90);
    repaint();
  }

  /** The hole before or after the one looked at, brought onto the bar. */
  private step(by: 1 | -1): void {
    const work = this.work();
    if (!work) return;
    const index = slotIndex(work, this.piano());
    const inRange = this.focused >= index.from && this.focused < index.to;
    const next = inRange ? this.focused + by : index.next(this.view.along - 1e-6) - (by < 0 ? 1 : 0);
    if (next < index.from || next >= index.to) return;
    seek(secAt(this.transport, work.slots.lead[next]));
    this.focusOn(next, null, true);
  }

  private key(e: KeyboardEvent): void {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const page = this.view.height / 2;
    const music = this.view.piano.paper.musicMM;
    const does: Record<string, () => void> = {
      ArrowUp: () => seek(heard() + perKey),
      ArrowDown: () => seek(heard() - perKey),
      ArrowRight: () => this.step(1),
      ArrowLeft: () => this.step(-1),
      PageUp: () => this.pull(page),
      PageDown: () => this.pull(-page),
      Home: () => seek(0),
      End: () => seek(secAt(this.transport, music)),
      "+": () => this.zoom(1.3),
      "=": () => this.zoom(1.3),
      "-": () => this.zoom(1 / 1.3),
      "0": () => {
        this.view.fitted = true;
        repaint();
      },
      Enter: () => this.focused >= 0 && this.react.choose(this.focused),
      Escape: () => this.focusOn(-1, null, false),
    };
    const act = does[e.key];
    if (!act) return;
    e.preventDefault();
    act();
  }
}
