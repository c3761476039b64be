// A small picture of a whole roll, made once for every analysis: it stands in
// for the holes when they are smaller than a pixel, however many there are.
import { hue } from "../look/voice";
import type { Work } from "../work";

const acrossScale = 0.7; // pixels a millimetre
const mostRows = 16000;
const sheetRows = 4000; // a canvas holds so many rows

export interface Miniature {
  alongScale: number; // pixels a millimetre
  first: number; // millimetre along of row 0
  rows: number;
  columns: number;
  sheets: HTMLCanvasElement[]; // the start of the music in the last row of the first sheet
  sheetRows: number;
}

const kept = new WeakMap<Work, Map<string, Miniature>>();

/** The roll of a piano with its holes in the hues of their voices, darkened with ink; alone: those of some voices stand out. */
export function miniature(work: Work, piano: number, ink: string, alone: ReadonlySet<number>): Miniature {
  let map = kept.get(work);
  if (!map) kept.set(work, (map = new Map()));
  const key = `${piano} ${ink} ${[...alone].join(" ")}`;
  let m = map.get(key);
  if (!m) {
    map.clear(); // one at a time is enough
    map.set(key, (m = make(work, piano, ink, alone)));
  }
  return m;
}

function make(work: Work, pianoIndex: number, ink: string, alone: ReadonlySet<number>): Miniature {
  const piano = work.pianos[pianoIndex];
  const { slots } = work;
  const first = -20;
  const length = piano.paper.musicMM + 40;
  const alongScale = Math.min(1, mostRows / length);
  const rows = Math.ceil(length * alongScale);
  const columns = Math.ceil(piano.paper.width * acrossScale);
  const cover = new Float32Array(rows * columns);
  const most = new Float32Array(rows * columns); // of one hole
  const whose = new Uint16Array(rows * columns); // its voice, from 1
  const wide = piano.die * acrossScale;
  for (let i = piano.slots.from; i < piano.slots.from + piano.slots.count; i++) {
    const port = piano.ports[slots.port[i]];
    if (!port) continue;
    const weight = (alone.size > 0 && !alone.has(slots.voice[i]) ? 0.25 : 1) * Math.min(1, wide);
    const a = (slots.lead[i] - first) * alongScale;
    const b = (slots.trail[i] - first) * alongScale;
    const x = piano.paper.bass === "left" ? port.across : piano.paper.width - port.across;
    const column = Math.min(columns - 1, Math.max(0, Math.floor(x * acrossScale)));
    for (let row = Math.max(0, Math.floor(a)); row < Math.min(rows, b); row++) {
      const share = Math.min(row + 1, b) - Math.max(row, a);
      const at = row * columns + column;
      cover[at] += share * weight;
      if (share * weight > most[at]) {
        most[at] = share * weight;
        whose[at] = slots.voice[i] + 1;
      }
    }
  }
  return { alongScale, first, rows, columns, sheets: paint(cover, whose, rows, columns, inks(work, ink)), sheetRows };
}

const inkShare = 0.4; // of the hole's ink in a hue, so that yellow stands out from paper

function rgb(color: string): number[] {
  return [1, 3, 5].map((i) => parseInt(color.slice(i, i + 2), 16));
}

/** The ink of each voice, from 1; 0: of none. */
function inks(work: Work, ink: string): number[][] {
  const dark = rgb(ink);
  return [-1, ...work.voices.keys()].map((v) => rgb(hue(v)).map((x, i) => Math.round(x * (1 - inkShare) + dark[i] * inkShare)));
}

/** The ink of a voice as a style. */
export function inkOf(voice: number, ink: string): string {
  const dark = rgb(ink);
  return `rgb(${rgb(hue(voice)).map((x, i) => Math.round(x * (1 - inkShare) + dark[i] * inkShare)).join(" ")})`;
}

function paint(cover: Float32Array, whose: Uint16Array, rows: number, columns: number, inks: number[][]): HTMLCanvasElement[] {
  const sheets: HTMLCanvasElement[] = [];
  for (let top = 0; top < rows; top += sheetRows) {
    const n = Math.min(sheetRows, rows - top);
    const canvas = document.createElement("canvas");
    canvas.width = columns;
    canvas.height = n;
    const ctx = canvas.getContext("2d")!;
    const image = ctx.createImageData(columns, n);
    for (let row = 0; row < n; row++) {
      // Later paper lies higher up.
      const out = (n - 1 - row) * columns;
      const from = (top + row) * columns;
      for (let c = 0; c < columns; c++) {
        const a = cover[from + c];
        if (a === 0) continue;
        const p = (out + c) * 4;
        const [r, g, b] = inks[whose[from + c]] ?? inks[0];
        image.data[p] = r;
        image.data[p + 1] = g;
        image.data[p + 2] = b;
        image.data[p + 3] = 255 * Math.min(1, Math.sqrt(a)); // single holes stay visible
      }
    }
    ctx.putImageData(image, 0, 0);
    sheets.push(canvas);
  }
  return sheets;
}

/** Paints the stretch of a miniature between two places so that it fills a rectangle, later paper higher up. */
export function paintMiniature(
  ctx: CanvasRenderingContext2D,
  m: Miniature,
  y: (along: number) => number,
  left: number,
  width: number,
): void {
  ctx.imageSmoothingEnabled = true;
  ctx.imageSmoothingQuality = "high";
  m.sheets.forEach((sheet, i) => {
    const low = m.first + (i * m.sheetRows) / m.alongScale;
    const high = low + sheet.height / m.alongScale;
    const top = Math.min(y(low), y(high));
    const tall = Math.abs(y(low) - y(high));
    ctx.save();
    if (y(high) > y(low)) {
      ctx.translate(0, 2 * top + tall);
      ctx.scale(1, -1);
    }
    ctx.drawImage(sheet, left, top, width, tall);
    ctx.restore();
  });
}
