// How color and talea of a voice run against each other: a grid that fills as
// it plays, and two strips of paper that slide past one mark.
import { useEffect, useRef } from "preact/hooks";
import { use } from "../cell";
import { clock } from "../format";
import { Canvas, sans } from "../look/canvas";
import { addPainter } from "../look/frames";
import { isDark, palette } from "../look/palette";
import { hue, Swatch } from "../look/voice";
import { heard } from "../sound/player";
import { chosen, work as workCell } from "../state";
import { t, tn } from "../words";
import { arrivals, items as itemsOf } from "../parts";
import { after, itemAt, type Items, type Voice, type Work } from "../work";

export function VoicePicker({ work }: { work: Work }) {
  const now = use(chosen);
  return (
    <label class="picker">
      <Swatch voice={now} />
      <select aria-label={t("voice")} value={String(now)} onChange={(e) => chosen.set(Number((e.target as HTMLSelectElement).value))}>
        {work.voices.map((v) => (
          <option key={v.index} value={String(v.index)}>
            {v.name}
          </option>
        ))}
      </select>
    </label>
  );
}

interface Shown {
  items: Items;
  voice: Voice;
}

/** "color 3 of 6, talea 4 of 7": written at every frame without drawing the page again. */
function Counts({ items, voice }: Shown) {
  const ref = useRef<HTMLParagraphElement>(null);
  useEffect(
    () =>
      addPainter(() => {
        if (!ref.current) return;
        const text = counts(items, voice);
        if (ref.current.textContent !== text) ref.current.textContent = text;
      }),
    [items, voice],
  );
  return <p class="counts tabular" ref={ref} />;
}

function counts(items: Items, voice: Voice): string {
  const i = itemAt(items, heard());
  if (i < 0) return t("cycles.before", { at: clock(voice.startSec) });
  return t("cycles.counts", {
    color: Math.max(0, items.colorN[i]) + 1,
    colores: voice.colores,
    talea: items.taleaN[i] + 1,
    taleae: voice.taleae,
    note: lastNote(items, i),
    notes: voice.notes,
  });
}

/** The number of the note that an item is or follows. */
function lastNote(items: Items, item: number): number {
  while (item >= 0 && items.note[item] === 0) item--;
  return item < 0 ? 0 : items.note[item];
}

/** How often each cell was filled, up to an item; kept, because the next frame asks for little more. */
let kept = { items: null as Items | null, upTo: -1, most: 1, times: new Map<number, number>() };

function filled(items: Items, columns: number, now: number): { times: Map<number, number>; most: number } {
  if (kept.items !== items || now < kept.upTo) kept = { items, upTo: -1, most: 1, times: new Map() };
  for (let i = kept.upTo + 1; i <= now; i++) {
    if (items.note[i] === 0) continue;
    const k = items.talea[i] * columns + items.color[i];
    const n = (kept.times.get(k) ?? 0) + 1;
    kept.times.set(k, n);
    if (n > kept.most) kept.most = n;
  }
  kept.upTo = Math.max(kept.upTo, now);
  return kept;
}

function paintGrid(ctx: CanvasRenderingContext2D, width: number, height: number, items: Items, voice: Voice): void {
  const look = palette();
  const columns = voice.color.length;
  const rows = voice.talea.length;
  const left = 34;
  const top = 20;
  const cell = Math.max(1, Math.min(24, (width - left - 4) / columns, (height - top - 4) / rows));
  ctx.font = `${Math.min(12, Math.max(9, cell * 0.55))}px ${sans}`;
  ctx.textBaseline = "middle";
  ctx.fillStyle = look.second;
  const readable = cell >= 9;
  if (readable) {
    ctx.textAlign = "right";
    voice.talea.forEach((d, r) => ctx.fillText(d, left - 5, top + (r + 0.5) * cell));
    ctx.textAlign = "center";
    let last = -Infinity;
    voice.color.forEach((p, c) => {
      const x = left + (c + 0.5) * cell;
      const name = p.length > 4 ? `${p.split("+")[0]}…` : p;
      const w = ctx.measureText(name).width / 2 + 2;
      if (x - w < last) return;
      last = x + w;
      ctx.fillText(name, x, top - 9);
    });
  }
  ctx.fillStyle = look.paper;
  ctx.fillRect(left, top, columns * cell, rows * cell);
  ctx.strokeStyle = look.edge;
  ctx.lineWidth = 0.5;
  if (cell > 3) {
    ctx.beginPath();
    for (let c = 0; c <= columns; c++) ctx.moveTo(left + c * cell, top), ctx.lineTo(left + c * cell, top + rows * cell);
    for (let r = 0; r <= rows; r++) ctx.moveTo(left, top + r * cell), ctx.lineTo(left + columns * cell, top + r * cell);
    ctx.stroke();
  } else ctx.strokeRect(left, top, columns * cell, rows * cell);

  const now = itemAt(items, heard());
  const { times, most } = filled(items, columns, now);
  ctx.fillStyle = hue(voice.index);
  for (const [k, n] of times) {
    ctx.globalAlpha = 0.35 + 0.6 * (n / most);
    const inset = cell > 6 ? cell * 0.14 : 0;
    ctx.fillRect(left + (k % columns) * cell + inset, top + Math.floor(k / columns) * cell + inset, cell - 2 * inset, cell - 2 * inset);
  }
  ctx.globalAlpha = 1;
  if (now >= 0) {
    let i = now;
    while (i >= 0 && items.note[i] === 0) i--;
    if (i >= 0) {
      const grow = cell < 8 ? 3 : 0;
      ctx.strokeStyle = look.ink;
      ctx.lineWidth = 2;
      ctx.strokeRect(left + items.color[i] * cell - grow, top + items.talea[i] * cell - grow, cell + 2 * grow, cell + 2 * grow);
    }
  }
}

const markShare = 0.35; // of the width: the instant that is heard

function paintStrips(ctx: CanvasRenderingContext2D, width: number, height: number, items: Items, voice: Voice): void {
  const look = palette();
  const mark = width * markShare;
  const now = heard();
  // So many pixels a second that a dozen items or so are seen.
  const count = items.at.length;
  const mean = Math.max(0.02, (voice.endSec - voice.startSec) / Math.max(1, count));
  const scale = Math.max(18, Math.min(90, width / 11)) / mean;
  const stripTall = Math.min(38, (height - 34) / 2);
  const topColor = 8;
  const topTalea = topColor + stripTall + 14;
  const x = (sec: number) => mark + (sec - now) * scale;
  const low = Math.max(0, after(items.at, now - mark / scale - mean * 8) - 1);
  const high = after(items.at, now + (width - mark) / scale);
  for (const y of [topColor, topTalea]) {
    ctx.fillStyle = look.paper;
    ctx.fillRect(0, y, width, stripTall);
    ctx.strokeStyle = look.edge;
    ctx.lineWidth = 1;
    ctx.strokeRect(-1, y + 0.5, width + 2, stripTall - 1);
  }
  ctx.textBaseline = "middle";
  ctx.textAlign = "left";
  ctx.font = `13px ${sans}`;
  for (let i = low; i < high; i++) {
    const a = x(items.at[i]);
    const w = items.len[i] * scale;
    const on = now >= items.at[i] && now < items.at[i] + items.len[i];
    const newTalea = i === 0 || items.taleaN[i] !== items.taleaN[i - 1];
    // Talea: a length for every duration, hatched when silent.
    ctx.fillStyle = items.note[i] ? hue(voice.index) : look.edge;
    ctx.globalAlpha = items.note[i] ? (on ? 0.6 : 0.28) : 0.35;
    ctx.fillRect(a + 1, topTalea + 3, Math.max(1, w - 2), stripTall - 6);
    ctx.globalAlpha = 1;
    ctx.fillStyle = look.print;
    if (w > 14) ctx.fillText(voice.talea[items.talea[i]] ?? "", a + 5, topTalea + stripTall / 2);
    if (newTalea) joint(ctx, a, topTalea, stripTall, look.print);
    if (items.note[i] === 0) continue;
    // Color: the pitch at the place where its note begins.
    const newColor = firstOfColor(items, i);
    if (newColor) joint(ctx, a, topColor, stripTall, look.print);
    ctx.fillStyle = on ? hue(voice.index) : look.print;
    ctx.beginPath();
    ctx.arc(a + 3, topColor + stripTall / 2, on ? 4 : 2.5, 0, 2 * Math.PI);
    ctx.fillStyle = on ? look.hole : look.edge;
    ctx.fill();
    ctx.fillStyle = look.print;
    let next = i + 1;
    while (next < count && items.note[next] === 0) next++;
    const room = (next < count ? x(items.at[next]) : width) - a - 14;
    ctx.fillText(fitting(ctx, voice.color[items.color[i]] ?? "", room), a + 10, topColor + stripTall / 2);
    if (newTalea && newColor && i > 0) together(ctx, a, topColor - 4, topTalea + stripTall + 4, look.brassDark);
  }
  ctx.fillStyle = look.brassDark;
  ctx.fillRect(mark - 1, 0, 2, topTalea + stripTall + 8);
  ctx.beginPath();
  ctx.moveTo(mark - 6, 0);
  ctx.lineTo(mark + 6, 0);
  ctx.lineTo(mark, 8);
  ctx.fill();
}

/** As much of a text as goes into a width. */
function fitting(ctx: CanvasRenderingContext2D, text: string, room: number): string {
  if (ctx.measureText(text).width <= room) return text;
  let n = text.length - 1;
  while (n > 0 && ctx.measureText(`${text.slice(0, n)}…`).width > room) n--;
  return n > 0 ? `${text.slice(0, n)}…` : "";
}

/** Whether a note begins a statement of the color. */
function firstOfColor(items: Items, i: number): boolean {
  let k = i - 1;
  while (k >= 0 && items.note[k] === 0) k--;
  return k < 0 || items.colorN[k] !== items.colorN[i];
}

/** Where a strip begins anew. */
function joint(ctx: CanvasRenderingContext2D, x: number, y: number, tall: number, ink: string): void {
  ctx.fillStyle = ink;
  ctx.fillRect(Math.round(x) - 1, y, 2, tall);
}

/** Where both begin anew together. */
function together(ctx: CanvasRenderingContext2D, x: number, top: number, bottom: number, ink: string): void {
  ctx.fillStyle = ink;
  ctx.fillRect(Math.round(x) - 2, top, 4, bottom - top);
}

function Explanation({ voice }: { voice: Voice }) {
  const c = voice.complete;
  if (voice.fields.line) return <p>{t("cycles.line")}</p>;
  if (!c) return null;
  return (
    <p>
      {t("cycles.sum", {
        pitches: voice.color.length,
        strokes: voice.talea.filter((d) => !d.startsWith("(")).length,
        notes: c.notes,
        colores: c.colores,
        taleae: c.taleae,
      })}
    </p>
  );
}

/** Whether the chosen voice is one that a person chose. */
let byHand = false;
chosen.watch(() => (byHand = true));

/** Chooses a voice that sounds at the bar, or has notes at all, where nobody has chosen one. */
function chooseSounding(voices: Voice[]): void {
  if (byHand) return;
  const now = heard();
  const sounds = (v: Voice) => v.notes > 0 && v.startSec <= now && now < v.endSec;
  const best = voices.find(sounds) ?? voices.find((v) => v.notes > 0);
  if (!best) return;
  chosen.set(best.index);
  byHand = false;
}

export function Cycles() {
  const work = use(workCell);
  use(isDark);
  use(arrivals);
  useEffect(() => chooseSounding(work?.voices ?? []), [work?.title]);
  const voice = work?.voices[Math.min(use(chosen), work.voices.length - 1)];
  if (!work || !voice) return <p class="note">{t("findings.waiting")}</p>;
  const items = itemsOf(work, voice.index);
  return (
    <div class="cycles">
      <VoicePicker work={work} />
      {items && <Strips items={items} voice={voice} />}
    </div>
  );
}

function Strips({ items, voice }: Shown) {
  return (
    <>
      <Counts items={items} voice={voice} />
      <h2>{t("cycles.strips")}</h2>
      <Canvas class="strips" role="img" aria-label={t("cycles.strips.label", { voice: voice.name })} paint={(ctx, w, h) => paintStrips(ctx, w, h, items, voice)} />
      <Explanation voice={voice} />
      {!voice.fields.line && <Grid items={items} voice={voice} />}
    </>
  );
}

function Grid({ items, voice }: Shown) {
  const tall = Math.min(420, Math.max(90, 24 + voice.talea.length * Math.min(24, 300 / Math.max(1, voice.color.length))));
  return (
    <>
      <h2>{t("cycles.grid")}</h2>
      <Canvas
        class="grid"
        style={{ height: `${tall}px` }}
        role="img"
        aria-label={tn("cycles.grid.label", voice.color.length, { rows: voice.talea.length, voice: voice.name })}
        paint={(ctx, w, h) => paintGrid(ctx, w, h, items, voice)}
      />
      <p class="second">{t("cycles.grid.note")}</p>
    </>
  );
}
