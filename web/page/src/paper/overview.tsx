// The whole roll at a glance, as a ribbon beside the paper: where the paper in
// view lies on it, where the findings are. Pressing it goes there.
import { useRef } from "preact/hooks";
import { use } from "../cell";
import { clock } from "../format";
import { Canvas } from "../look/canvas";
import { isDark, palette } from "../look/palette";
import { heard, seek } from "../sound/player";
import { alone, isSeen, piano as pianoCell, work as workCell } from "../state";
import { t } from "../words";
import type { Work } from "../work";
import { inkOf } from "./miniature";
import { alongAt, secAt } from "./transport";

let kept: { key: unknown[]; canvas: HTMLCanvasElement } | null = null;

/** The holes of the whole roll within a width and height, painted once. */
function ribbon(work: Work, index: number, width: number, height: number, ink: string): HTMLCanvasElement {
  const ratio = devicePixelRatio;
  const key = [work, index, width, height, ink, ratio, alone.value];
  if (kept && key.every((v, i) => v === kept!.key[i])) return kept.canvas;
  const canvas = document.createElement("canvas");
  canvas.width = width * ratio;
  canvas.height = height * ratio;
  const ctx = canvas.getContext("2d")!;
  ctx.scale(ratio, ratio);
  const inks = new Map<number, string>();
  const piano = work.pianos[index];
  const { slots } = work;
  const scale = (height - 12) / piano.paper.musicMM;
  const dense = piano.slots.count / height; // slots a pixel
  for (let i = piano.slots.from; i < piano.slots.from + piano.slots.count; i++) {
    const across = piano.ports[slots.port[i]]?.across ?? 0;
    const x = ((piano.paper.bass === "left" ? across : piano.paper.width - across) / piano.paper.width) * width;
    const tall = Math.max(0.8, (slots.trail[i] - slots.lead[i]) * scale);
    const voice = slots.voice[i];
    if (!inks.has(voice)) inks.set(voice, inkOf(voice, ink));
    ctx.fillStyle = inks.get(voice)!;
    ctx.globalAlpha = (!isSeen(voice) ? 0.25 : 1) * Math.min(0.85, 6 / dense + 0.12);
    ctx.fillRect(x - 0.6, height - 6 - slots.lead[i] * scale - tall, 1.2, tall);
  }
  kept = { key, canvas };
  return canvas;
}

export function Overview() {
  const work = use(workCell);
  use(isDark);
  use(alone);
  const index = Math.min(use(pianoCell), (work?.pianos.length ?? 1) - 1);
  const box = useRef<HTMLDivElement>(null);
  if (!work) return null;
  const piano = work.pianos[index];
  const most = piano.paper.musicMM;
  const go = (e: PointerEvent) => {
    const r = box.current!.getBoundingClientRect();
    const share = 1 - (e.clientY - r.top - 6) / (r.height - 12);
    seek(secAt(piano.transport, Math.max(0, Math.min(1, share)) * most));
  };
  const key = (e: KeyboardEvent) => {
    const by: Record<string, number> = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: 10, PageDown: -10 };
    if (e.key === "Home") seek(0);
    else if (e.key === "End") seek(work.durationSec);
    else if (by[e.key]) seek(heard() + by[e.key]);
    else return;
    e.preventDefault();
  };
  return (
    <div
      class="overview"
      ref={box}
      role="slider"
      tabIndex={0}
      aria-label={t("overview")}
      aria-orientation="vertical"
      aria-valuemin={0}
      aria-valuemax={Math.round(work.durationSec)}
      aria-valuenow={Math.max(0, Math.min(Math.round(work.durationSec), Math.round(heard())))}
      aria-valuetext={clock(heard())}
      onKeyDown={key}
      onPointerDown={(e) => {
        box.current!.setPointerCapture(e.pointerId);
        go(e);
      }}
      onPointerMove={(e) => e.buttons && go(e)}
    >
      <Canvas
        aria-hidden="true"
        paint={(ctx, w, h) => {
          const look = palette();
          const y = (along: number) => h - 6 - (along / most) * (h - 12);
          ctx.fillStyle = look.paper;
          ctx.fillRect(4, 2, w - 14, h - 4);
          ctx.drawImage(ribbon(work, index, w - 14, h, look.hole), 4, 0, w - 14, h);
          ctx.strokeStyle = look.edge;
          ctx.lineWidth = 1;
          ctx.strokeRect(4.5, 2.5, w - 15, h - 5);
          for (const f of work.findings) {
            if (f.severity === "note") continue;
            ctx.fillStyle = f.severity === "forbids" ? look.red : look.amber;
            for (const p of f.places) if (p.piano === index) ctx.fillRect(w - 8, y(p.alongMM) - 1, 6, 2);
          }
          const now = y(alongAt(piano.transport, heard()));
          ctx.fillStyle = look.brassDark;
          ctx.fillRect(0, now - 2, w - 6, 4);
          ctx.fillStyle = look.brassLight;
          ctx.fillRect(1, now - 1, w - 8, 2);
        }}
      />
    </div>
  );
}
