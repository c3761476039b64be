// The holes of the paper in view, each with the rim of its voice.
import { hue, pale, pattern } from "../look/voice";
import { calm, type Palette } from "../look/palette";
import { playing } from "../sound/player";
import type { Piano, Work } from "../work";
import { miniature, paintMiniature } from "./miniature";
import { punchesOf } from "./punches";
import type { SlotIndex } from "./slots";
import type { View } from "./view";

const calmShare = 0.3; // of a hole that is seen while calm paper moves
const pictureBelow = 0.9; // pixels a millimetre: the miniature stands in
const barsBelow = 1.5; // pixels of the screen a millimetre: rims are plain, corners square
const punchesFrom = 4; // single punches are shown
const mostRims = 2500; // with more in view, rims are plain: nobody could tell the patterns

export interface Scene {
  ctx: CanvasRenderingContext2D;
  view: View;
  work: Work;
  piano: Piano;
  pianoIndex: number;
  index: SlotIndex;
  look: Palette;
  alone: ReadonlySet<number>; // none: all
  share: number; // of the holes that is seen, 0 to 1: on a light table they fade
}

/** Slots in view by voice; reused from frame to frame. */
const groups: number[][] = [];

export function paintHoles(s: Scene): void {
  if (s.share === 0) return;
  const { view, work } = s;
  if (view.zoom < pictureBelow) {
    const [left, right] = view.edges;
    const m = miniature(work, s.pianoIndex, s.look.hole, s.alone);
    paintMiniature(s.ctx, m, (along) => view.y(along), left, right - left);
    return;
  }
  const share = s.share * (calm.value && playing.value ? calmShare : 1);
  let count = 0;
  groups.forEach((g) => (g.length = 0)); // an array with gaps
  const [low, high] = view.seen;
  s.index.each(low - 5, high + 5, (i) => {
    const v = work.slots.voice[i] + 1;
    (groups[v] ??= []).push(i);
    count++;
  });
  const plain = view.zoom * devicePixelRatio < barsBelow || count > mostRims;
  groups.forEach((slots, v) => {
    if (slots.length === 0) return;
    const dim = s.alone.size > 0 && !s.alone.has(v - 1);
    s.ctx.globalAlpha = (dim ? 0.22 : 1) * share;
    if (plain) paintPlain(s, slots, v - 1);
    else paintRims(s, slots, v - 1);
  });
  s.ctx.globalAlpha = 1;
}

/** Where a slot lies on the screen: left, top, width, height of its outline. */
function box(s: Scene, slot: number, grow: number): [number, number, number, number] {
  const { view, work } = s;
  const d = s.piano.die * view.zoom;
  const x = view.x(s.piano.ports[work.slots.port[slot]].across);
  const a = view.y(work.slots.lead[slot]);
  const b = view.y(work.slots.trail[slot]);
  return [x - d / 2 - grow, Math.min(a, b) - grow, d + 2 * grow, Math.abs(a - b) + 2 * grow];
}

function paintPlain(s: Scene, slots: number[], voice: number): void {
  const { ctx } = s;
  const rim = Math.max(0.8, Math.min(1.5, s.view.zoom * 0.6));
  const wider = Math.max(0, 2.4 - s.piano.die * s.view.zoom) / 2; // a hole stays darker than its rim
  const fill = (ink: string, grow: number) => {
    ctx.fillStyle = ink;
    for (const i of slots) {
      const [x, y, w, h] = box(s, i, 0);
      ctx.fillRect(x - wider - grow, y - grow, w + 2 * (wider + grow), h + 2 * grow);
    }
  };
  fill(hue(voice), rim);
  fill(s.look.hole, 0);
}

function paintRims(s: Scene, slots: number[], voice: number): void {
  const { ctx, view } = s;
  const d = s.piano.die * view.zoom;
  const line = Math.max(1.3, Math.min(3.2, view.zoom * 0.42));
  const gap = Math.max(0.4, Math.min(1.8, view.zoom * 0.12));
  const out = gap + line / 2;
  ctx.lineCap = "round";
  // Holes so short that the pattern would not go round them twice have it closer.
  const round = Math.PI * (d + 2 * out);
  const dashes = pattern(voice, line);
  const turn = dashes.reduce((sum, n) => sum + n, 0);
  const single = turn > 0 ? dashes.map((n) => (n * round) / turn / Math.max(3, Math.round(round / turn))) : dashes;
  const boxes = slots.map((i) => box(s, i, out));
  for (const short of [true, false]) {
    ctx.beginPath();
    let any = false;
    for (const [x, y, w, h] of boxes) {
      if (h < 1.5 * w !== short) continue;
      any = true;
      ctx.roundRect(x, y, w, h, w / 2);
    }
    if (!any) continue;
    ctx.setLineDash(short ? single : dashes);
    if (pale(voice)) {
      ctx.lineWidth = line + 1.4;
      ctx.strokeStyle = s.look.print;
      ctx.stroke();
    }
    ctx.lineWidth = line;
    ctx.strokeStyle = hue(voice);
    ctx.stroke();
  }
  ctx.setLineDash([]);

  const discs: [number, number[]][] = [];
  ctx.beginPath();
  for (const i of slots) {
    const punches = view.zoom >= punchesFrom ? punchesOf(s.work, s.pianoIndex, i) : undefined;
    if (punches) {
      discs.push([i, punches]);
      continue;
    }
    const [x, y, w, h] = box(s, i, 0);
    ctx.roundRect(x, y, w, h, w / 2);
  }
  ctx.fillStyle = s.look.hole;
  ctx.strokeStyle = s.look.edge;
  ctx.lineWidth = 1;
  ctx.stroke();
  ctx.fill();
  if (discs.length === 0) return;
  for (const edge of [1, 0]) {
    // First all edges, then all holes, so that punches that overlap are one opening.
    ctx.fillStyle = edge ? s.look.edge : s.look.hole;
    ctx.beginPath();
    for (const [i, punches] of discs) {
      const x = view.x(s.piano.ports[s.work.slots.port[i]].across);
      for (const at of punches) {
        const y = view.y(at);
        if (y < -d || y > view.height + d) continue;
        ctx.moveTo(x + d / 2 + edge, y);
        ctx.arc(x, y, d / 2 + edge, 0, 2 * Math.PI);
      }
    }
    ctx.fill();
  }
}

/** A ring around one slot. */
export function paintRing(s: Scene, slot: number, ink: string, width = 2): void {
  const { ctx } = s;
  const grow = Math.max(5, s.view.zoom * 1.1);
  const [x, y, w, h] = box(s, slot, grow);
  ctx.strokeStyle = ink;
  ctx.lineWidth = width;
  ctx.beginPath();
  ctx.roundRect(x, y, w, h, w / 2);
  ctx.stroke();
}
