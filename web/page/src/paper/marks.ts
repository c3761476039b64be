// What is marked on the paper besides holes: findings, meetings, the stretch
// that is repeated, the hole that is looked at.
import { loop } from "../sound/player";
import { chosen, pair, plan, shown } from "../state";
import { litHoles } from "../text/lit";
import { hue } from "../look/voice";
import { paintRing, type Scene } from "./holes";
import { narrowRuler, rulerWidth } from "./rulers";
import { alongAt } from "./transport";

export function paintMarks(s: Scene, focus: number, narrow: boolean): void {
  const inset = narrow ? narrowRuler : rulerWidth;
  paintLoop(s, inset);
  paintMeetings(s);
  paintFindings(s);
  paintLit(s);
  if (focus >= 0) paintRing(s, focus, s.look.brassDark, 2.5);
}

/** Rings about the notes of the item that the cursor stands on in the text. */
function paintLit(s: Scene): void {
  const lit = litHoles.value;
  if (!lit || lit.work !== s.work || s.view.zoom < 0.9) return;
  const [low, high] = s.view.seen;
  s.index.each(low, high, (i) => {
    if (lit.notes.get(s.work.slots.voice[i])?.has(s.work.slots.note[i])) paintRing(s, i, s.look.brassDark, 2);
  });
}

function paintLoop(s: Scene, inset: number): void {
  const stretch = loop.value;
  if (!stretch) return;
  const { ctx, view, piano, look } = s;
  const [a, b] = stretch.map((sec) => view.y(alongAt(piano.transport, sec)));
  const top = Math.min(a, b);
  const tall = Math.abs(a - b);
  ctx.fillStyle = look.brass;
  ctx.globalAlpha = 0.13;
  ctx.fillRect(inset, top, view.width - 2 * inset, tall);
  ctx.globalAlpha = 1;
  for (const y of [a, b]) ctx.fillRect(inset, Math.round(y) - 1, view.width - 2 * inset, 2);
  ctx.fillRect(inset - 4, top, 4, tall);
  ctx.fillRect(view.width - inset, top, 4, tall);
}

/** Where the chosen pair of voices meets: a line across, a diamond at each end. */
function paintMeetings(s: Scene): void {
  const p = plan.value?.pairs[pair.value];
  if (!p) return;
  const { ctx, view, piano, look } = s;
  const [left, right] = view.edges;
  const [low, high] = view.seen;
  const from = left + Math.min(64, (right - left) / 6); // the units stand before it
  ctx.strokeStyle = look.brassDark;
  ctx.fillStyle = look.brassDark;
  ctx.lineWidth = 1;
  for (const m of p.meets) {
    const along = alongAt(piano.transport, m.sec);
    if (along < low || along > high) continue;
    const y = Math.round(view.y(along)) + 0.5;
    ctx.beginPath();
    ctx.moveTo(from, y);
    ctx.lineTo(right, y);
    ctx.stroke();
    for (const x of [from, right - 9]) {
      ctx.beginPath();
      ctx.moveTo(x, y - 6);
      ctx.lineTo(x + 6, y);
      ctx.lineTo(x, y + 6);
      ctx.lineTo(x - 6, y);
      ctx.fill();
    }
  }
}

/** Small signs at the right edge of the paper for every finding, a ring around the one that is shown. */
function paintFindings(s: Scene): void {
  const { ctx, view, look, work } = s;
  const [, right] = view.edges;
  const [low, high] = view.seen;
  const x = Math.min(right - 4, view.width - 60);
  for (const f of work.findings) {
    if (f.severity === "note") continue;
    ctx.fillStyle = f.severity === "forbids" ? look.red : look.amber;
    for (const p of f.places) {
      if (p.piano !== s.pianoIndex || p.alongMM < low || p.alongMM > high || p.sec < 0) continue;
      const y = view.y(p.alongMM);
      ctx.beginPath();
      ctx.moveTo(x, y);
      ctx.lineTo(x + 9, y - 5);
      ctx.lineTo(x + 9, y + 5);
      ctx.fill();
    }
  }
  const now = shown.value;
  const p = now?.finding.places[now.place];
  if (!now || !p || p.piano !== s.pianoIndex) return;
  // On the paper, which is light in both themes.
  ctx.strokeStyle = { forbids: "#a8231a", risks: "#b06a00", note: look.brassDark }[now.finding.severity];
  ctx.lineWidth = 2.5;
  const y = view.y(p.alongMM);
  if (p.port >= 0) {
    const slot = s.index.at(p.port, p.alongMM, 3);
    if (slot >= 0) return paintRing(s, slot, String(ctx.strokeStyle), 3);
    ctx.beginPath();
    ctx.arc(view.x(p.acrossMM), y, Math.max(9, view.zoom * 2.5), 0, 2 * Math.PI);
    ctx.stroke();
    return;
  }
  const [left] = view.edges;
  ctx.setLineDash([8, 6]);
  ctx.beginPath();
  ctx.moveTo(left, y);
  ctx.lineTo(right, y);
  ctx.stroke();
  ctx.setLineDash([]);
}

/** A thin line in the hue of the chosen voice where it begins and ends. */
export function paintVoiceSpan(s: Scene): void {
  const v = s.work.voices[chosen.value];
  if (!v || s.alone.size === 0) return;
  const { ctx, view, piano } = s;
  const [left, right] = view.edges;
  ctx.strokeStyle = hue(v.index);
  ctx.lineWidth = 1;
  for (const sec of [v.startSec, v.endSec]) {
    const y = Math.round(view.y(alongAt(piano.transport, sec))) + 0.5;
    ctx.beginPath();
    ctx.moveTo(left, y);
    ctx.lineTo(right, y);
    ctx.stroke();
  }
}
