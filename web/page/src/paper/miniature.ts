// A small picture of a whole roll, made once for every analysis: it stands in
// for the holes when they are smaller than a pixel, however many there are.
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

/** The roll of a piano with its holes in the hue of the ink; alone: those of one voice stand out. */
export function miniature(work: Work, piano: number, ink: string, alone: number): Miniature {
  let map = kept.get(work);
  if (!map) kept.set(work, (map = new Map()));
  const key = `${piano} ${ink} ${alone}`;
  let m = map.get(key);
  if (!m) {
    map.clear(); // one at a time is enough
    map.set(key, (m = make(work, piano, ink, alone)));
  }
  return m;
}

function make(work: Work, pianoIndex: number, ink: string, alone: number): Miniature {
  const piano = work.pianos[pianoIndex];
  const { slots } = work;
  const first = -20;
  const length = piano.paper.musicMM + 40;
  const alongScale = Math.min(1, mostRows / length);
  const rows = Math.ceil(length * alongScale);
  const columns = Math.ceil(piano.paper.width * acrossScale);
  const cover = new Float32Array(rows * columns);
  const wide = piano.die * acrossScale;
  for (let i = piano.slots.from; i < piano.slots.from + piano.slots.count; i++) {
    const port = piano.ports[slots.port[i]];
    if (!port) continue;
    const weight = (alone >= 0 && slots.voice[i] !== alone ? 0.25 : 1) * Math.min(1, wide);
    const a = (slots.lead[i] - first) * alongScale;
    const b = (slots.trail[i] - first) * alongScale;
    const x = piano.paper.bass === "left" ? port.across : piano.paper.width - port.across;
    const column = Math.min(columns - 1, Math.max(0, Math.floor(x * acrossScale)));
    for (let row = Math.max(0, Math.floor(a)); row < Math.min(rows, b); row++) {
      const share = Math.min(row + 1, b) - Math.max(row, a);
      cover[row * columns + column] += share * weight;
    }
  }
  return { alongScale, first, rows, columns, sheets: paint(cover, rows, columns, ink), sheetRows };
}

function paint(cover: Float32Array, rows: number, columns: number, ink: string): HTMLCanvasElement[] {
  const [r, g, b] = [1, 3, 5].map((i) => parseInt(ink.slice(i, i + 2), 16));
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
