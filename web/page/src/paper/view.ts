// Where the paper hangs on the screen: millimetres to pixels and back.
import type { Piano } from "../work";

/** How far down the bar lies: a third of the height is left below it. */
const barShare = 2 / 3;

export const mostZoom = 120; // pixels a millimetre: one hole fills the screen

export class View {
  width = 0;
  height = 0;
  zoom = 0; // pixels a millimetre, 0 until the paper has been fitted
  along = 0; // millimetres of paper on the bar
  center = 0; // millimetres across, from the bass edge, in the middle of the screen
  fitted = true; // the paper's width follows the screen's until the person zooms

  constructor(public piano: Piano) {}

  get barY(): number {
    return Math.round(this.height * barShare);
  }

  /** 1 when the bass is at the left, else -1. */
  private get side(): number {
    return this.piano.paper.bass === "left" ? 1 : -1;
  }

  /** 1 when the paper moves down, else -1. */
  private get way(): number {
    return this.piano.paper.travel === "down" ? 1 : -1;
  }

  x(across: number): number {
    return this.width / 2 + this.side * (across - this.center) * this.zoom;
  }

  y(along: number): number {
    return this.barY - this.way * (along - this.along) * this.zoom;
  }

  acrossAt(x: number): number {
    return this.center + (this.side * (x - this.width / 2)) / this.zoom;
  }

  alongAt(y: number): number {
    return this.along + (this.way * (this.barY - y)) / this.zoom;
  }

  /** The stretch of paper that is seen. */
  get seen(): [number, number] {
    const a = this.alongAt(0);
    const b = this.alongAt(this.height);
    return a < b ? [a, b] : [b, a];
  }

  /** The left and right edge of the paper on the screen. */
  get edges(): [number, number] {
    const a = this.x(0);
    const b = this.x(this.piano.paper.width);
    return a < b ? [a, b] : [b, a];
  }

  private get leastZoom(): number {
    return Math.min(this.fitZoom(0), this.height / (this.piano.paper.lengthMM * 1.02));
  }

  private fitZoom(margin: number): number {
    return Math.max(1, this.width - 2 * margin) / this.piano.paper.width;
  }

  fit(margin: number): void {
    this.zoom = this.fitZoom(margin);
    this.center = this.piano.paper.width / 2;
    this.fitted = true;
  }

  /** Zooms by a factor and keeps the paper across under x in its place; the bar stays where it is. */
  zoomBy(factor: number, x = this.width / 2): void {
    const across = this.acrossAt(x);
    this.zoom = Math.min(mostZoom, Math.max(this.leastZoom, this.zoom * factor));
    this.center += across - this.acrossAt(x);
    this.fitted = false;
    this.keepOnScreen();
  }

  shiftAcross(pixels: number): void {
    this.center -= (this.side * pixels) / this.zoom;
    this.keepOnScreen();
  }

  /** Moves the paper sideways when a place across is not on the screen. */
  reveal(across: number, margin: number): void {
    const x = this.x(across);
    if (x > margin && x < this.width - margin) return;
    this.center = across;
    this.keepOnScreen();
  }

  private keepOnScreen(): void {
    const w = this.piano.paper.width;
    const half = this.width / 2 / this.zoom;
    const reach = Math.max(0, w / 2 - half + 30);
    this.center = Math.min(w / 2 + reach, Math.max(w / 2 - reach, this.center));
  }
}
