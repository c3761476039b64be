// The tracker bar: a strip of brass behind the paper with an opening for every
// port, and their names under it.
import { sans } from "../look/canvas";
import { calm } from "../look/palette";
import { t } from "../words";
import type { Scene } from "./holes";

/** How far the strip reaches above and below the row of ports on the screen. */
export function barReach(s: Scene): { above: number; below: number } {
  const { zoom } = s.view;
  const port = (s.piano.bar.height * zoom) / 2;
  return { above: Math.max(9, Math.min(26, zoom * 4), port + 12), below: Math.max(18, Math.min(34, zoom * 7), port + 24) };
}

/** Paints the strip with its shut ports and their names; the holes come over it. */
export function paintBar(s: Scene): void {
  const { ctx, view, piano, look } = s;
  const [left, right] = view.edges;
  const { above, below } = barReach(s);
  const y = view.barY;
  const from = left - 18;
  const width = right - left + 36;
  ctx.save();
  ctx.shadowColor = "rgba(20, 12, 0, 0.45)";
  ctx.shadowBlur = 10;
  ctx.shadowOffsetY = 3;
  const metal = ctx.createLinearGradient(0, y - above, 0, y + below);
  metal.addColorStop(0, look.brassDark);
  metal.addColorStop(0.06, look.brassLight);
  metal.addColorStop(0.22, look.brass);
  metal.addColorStop(0.5, look.brassLight);
  metal.addColorStop(0.93, look.brass);
  metal.addColorStop(1, look.brassDark);
  ctx.fillStyle = metal;
  ctx.beginPath();
  ctx.roundRect(from, y - above, width, above + below, 4);
  ctx.fill();
  ctx.restore();

  ctx.fillStyle = look.engraved;
  ctx.beginPath();
  piano.ports.forEach((_, i) => opening(s, i, 0));
  ctx.fill();
  names(s);
}

/** The outline of a port at its true size, but never too small to be seen. */
function opening(s: Scene, port: number, grow: number): void {
  const { view, piano } = s;
  const tall = Math.max(2.5, piano.bar.height * view.zoom) + 2 * grow;
  const wide = Math.max(1.2, (piano.bar.width || piano.die) * view.zoom) + 2 * grow;
  const x = view.x(piano.ports[port].across);
  s.ctx.roundRect(x - wide / 2, view.barY - tall / 2, wide, tall, Math.min(wide, tall) / 3);
}

/** Fills the ports that a hole lies on, without a glow. */
function paintOpenCalmly(s: Scene, open: Set<number>): void {
  const { ctx, look } = s;
  ctx.fillStyle = look.brassLight;
  ctx.beginPath();
  for (const i of open) opening(s, i, 0.6);
  ctx.fill();
}

/** Lights the ports that a hole lies on. */
export function paintOpen(s: Scene): void {
  const open = new Set<number>();
  s.index.each(s.view.along, s.view.along, (i) => open.add(s.work.slots.port[i]));
  if (open.size === 0) return;
  if (calm.value) return paintOpenCalmly(s, open);
  const { ctx } = s;
  ctx.save();
  ctx.shadowColor = "#ffe9ae";
  ctx.shadowBlur = 14;
  ctx.fillStyle = "#fffaea";
  ctx.beginPath();
  for (const i of open) opening(s, i, 0.6);
  ctx.fill();
  ctx.fill();
  ctx.restore();
}

/** The names of the notes, as many as find room: all of them, or those of every C; control ports by their office. */
function names(s: Scene): void {
  const { ctx, view, piano, look } = s;
  const { below } = barReach(s);
  const size = Math.max(9, Math.min(15, view.zoom * 2.4));
  const step = (25.4 / 9) * view.zoom;
  ctx.font = `${size}px ${sans}`;
  ctx.textAlign = "center";
  ctx.textBaseline = "middle";
  ctx.fillStyle = look.engraved;
  const y = view.barY + (below + (piano.bar.height * view.zoom) / 2) / 2 + 1;
  if (step * 12 < size * 2.2) return;
  const all = step > size * 2.2;
  piano.ports.forEach((p) => {
    const x = view.x(p.across);
    if (x < -20 || x > view.width + 20) return;
    if (p.key >= 0) {
      if (all || p.key % 12 === 0) ctx.fillText(p.pitch, x, y);
    } else if (all) {
      ctx.fillText(t(`port.short.${p.role}`), x, y);
    }
  });
}
