// A picture of paper, in tiles that the server makes of it: only those in view are
// fetched, and as few pixels of them as the screen shows.
import { repaint } from "../look/frames";
import type { View } from "../paper/view";

export interface Plane {
  along: [number, number, number];
  across: [number, number, number];
}
export interface Picture {
  name: string;
  width: number;
  height: number;
  levels: { width: number; height: number; shrink: number }[];
  tall: boolean;
  cell: number;
  planes: Plane[];
}

const side = 512; // pixels of a tile, as the server cuts them
const mostKept = 160; // tiles
const atATime = 4;

export class Tiles {
  private readonly kept = new Map<string, ImageBitmap | null>(); // null: not to be had
  private readonly asked = new Set<string>();
  private wanted: string[] = [];
  /** How many tiles were fetched, for tests. */
  fetched = 0;

  constructor(
    private readonly job: string,
    private readonly pictures: Picture[],
  ) {}

  /** Paints what is in view, moved by millimetres along and across. */
  paint(ctx: CanvasRenderingContext2D, view: View, along: number, across: number): void {
    this.wanted = [];
    this.pictures.forEach((p, i) => this.picture(ctx, view, p, i, along, across));
    this.fetch();
  }

  private picture(ctx: CanvasRenderingContext2D, view: View, p: Picture, index: number, along: number, across: number): void {
    const first = p.planes[0];
    if (!first) return;
    const perMM = 1 / Math.hypot(first.along[1], first.across[1]);
    const need = view.zoom * devicePixelRatio;
    let level = 0;
    while (level + 1 < p.levels.length && perMM / p.levels[level + 1].shrink >= need * 0.8) level++;
    // What is coarser comes first, and stands in until the finer has come.
    const coarse = Math.min(p.levels.length - 1, level + 2);
    for (let l = coarse; l >= level; l--) this.level(ctx, view, p, index, l, l === level || l === coarse, along, across);
  }

  private level(ctx: CanvasRenderingContext2D, view: View, p: Picture, index: number, level: number, want: boolean, along: number, across: number): void {
    const { width, height, shrink } = p.levels[level];
    for (let ty = 0; ty * side < height; ty++) {
      for (let tx = 0; tx * side < width; tx++) {
        const w = Math.min(side, width - tx * side);
        const h = Math.min(side, height - ty * side);
        const x0 = tx * side * shrink;
        const y0 = ty * side * shrink;
        const long = p.tall ? y0 + (h * shrink) / 2 : x0 + (w * shrink) / 2;
        const q = p.planes[Math.min(p.planes.length - 1, Math.max(0, Math.floor(long / p.cell)))];
        const at = (x: number, y: number): [number, number] => [
          view.x(q.across[0] + q.across[1] * x + q.across[2] * y + across),
          view.y(q.along[0] + q.along[1] * x + q.along[2] * y + along),
        ];
        const a = at(x0, y0);
        const b = at(x0 + w * shrink, y0);
        const c = at(x0, y0 + h * shrink);
        const xs = [a[0], b[0], c[0], b[0] + c[0] - a[0]];
        const ys = [a[1], b[1], c[1], b[1] + c[1] - a[1]];
        if (Math.max(...xs) < 0 || Math.min(...xs) > view.width || Math.max(...ys) < 0 || Math.min(...ys) > view.height) continue;
        const key = `picture=${index}&level=${level}&x=${tx}&y=${ty}`;
        const bitmap = this.kept.get(key);
        if (!bitmap) {
          if (want && bitmap === undefined) this.wanted.push(key);
          continue;
        }
        this.kept.delete(key); // the last used stays longest
        this.kept.set(key, bitmap);
        ctx.save();
        ctx.transform((b[0] - a[0]) / w, (b[1] - a[1]) / w, (c[0] - a[0]) / h, (c[1] - a[1]) / h, a[0], a[1]);
        const seam = 0.6 / Math.max(0.05, Math.hypot(b[0] - a[0], b[1] - a[1]) / w);
        ctx.drawImage(bitmap, 0, 0, w + seam, h + seam);
        ctx.restore();
      }
    }
  }

  private fetch(): void {
    for (const key of this.wanted) {
      if (this.asked.size >= atATime) return;
      if (this.asked.has(key) || this.kept.has(key)) continue;
      this.asked.add(key);
      void this.one(key);
    }
  }

  private async one(key: string): Promise<void> {
    try {
      const response = await fetch(`api/light/${this.job}/tile?${key}`);
      if (!response.ok) throw new Error(response.statusText);
      this.kept.set(key, await createImageBitmap(await response.blob()));
      this.fetched++;
    } catch {
      this.kept.set(key, null); // the picture has been taken off the table
    }
    this.asked.delete(key);
    for (const [old, bitmap] of this.kept) {
      if (this.kept.size <= mostKept) break;
      bitmap?.close();
      this.kept.delete(old);
    }
    repaint();
  }
}
