// Where pairs of voices meet and nearly meet, how the tempos run, how dense the
// music is.
import { useState } from "preact/hooks";
import { use } from "../cell";
import { clock, number, span } from "../format";
import { Canvas, sans } from "../look/canvas";
import { isDark, palette, type Palette } from "../look/palette";
import { hue, pattern, Swatch } from "../look/voice";
import { heard, seek } from "../sound/player";
import { pair as pairCell, plan as planCell, work as workCell } from "../state";
import { t, tn } from "../words";
import type { Pair, Plan, Work } from "../work";

/** A time axis under a drawing; gives back where a time lies. */
function axis(ctx: CanvasRenderingContext2D, width: number, height: number, most: number, look: Palette, left = 8): (sec: number) => number {
  const right = 10;
  const x = (sec: number) => left + (sec / Math.max(1e-9, most)) * (width - left - right);
  const step = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200, 3600].find((s) => (s / most) * width > 52) ?? 3600;
  ctx.strokeStyle = look.line;
  ctx.fillStyle = look.second;
  ctx.font = `11px ${sans}`;
  ctx.textAlign = "center";
  ctx.textBaseline = "top";
  ctx.lineWidth = 1;
  ctx.beginPath();
  ctx.moveTo(left, height - 17.5);
  ctx.lineTo(width - right, height - 17.5);
  for (let s = 0; s <= most; s += step) {
    ctx.moveTo(Math.round(x(s)) + 0.5, height - 17);
    ctx.lineTo(Math.round(x(s)) + 0.5, height - 13);
    ctx.fillText(clock(s, 0), Math.max(14, x(s)), height - 12);
  }
  ctx.stroke();
  return x;
}

function playhead(ctx: CanvasRenderingContext2D, x: number, bottom: number, look: Palette): void {
  ctx.fillStyle = look.brass;
  ctx.fillRect(Math.round(x) - 1, 0, 2, bottom);
}

function paintMeetings(ctx: CanvasRenderingContext2D, width: number, height: number, work: Work, p: Pair): void {
  const look = palette();
  const x = axis(ctx, width, height, work.durationSec, look);
  const base = height - 18;
  // Near misses are hollow, lower the further apart the two notes are.
  const farthest = Math.max(...p.near.map((m) => m.distSec), 1e-9);
  ctx.strokeStyle = look.second;
  ctx.lineWidth = 1.2;
  for (const m of p.near) {
    const y = base - 10 - (1 - m.distSec / farthest) * (base - 30);
    ctx.beginPath();
    ctx.arc(x(m.sec), y, 3.5, 0, 2 * Math.PI);
    ctx.stroke();
  }
  ctx.fillStyle = look.ink;
  for (const m of p.meets) {
    const at = Math.round(x(m.sec));
    ctx.fillRect(at - 0.5, 10, 1, base - 10);
    ctx.beginPath();
    ctx.moveTo(at, 3);
    ctx.lineTo(at + 5, 9);
    ctx.lineTo(at, 15);
    ctx.lineTo(at - 5, 9);
    ctx.fill();
  }
  playhead(ctx, x(Math.max(0, heard())), base, look);
}

function voiceIndex(work: Work, name: string): number {
  return work.voices.findIndex((v) => v.name === name);
}

function PairView({ work, p, index }: { work: Work; p: Pair; index: number }) {
  const now = use(pairCell);
  const on = now === index;
  const steps = [...p.meets.map((m) => ({ ...m, near: 0 })), ...p.near.map((m) => ({ ...m, near: m.distSec }))].sort((a, b) => Number(a.near > 0) - Number(b.near > 0) || a.near - b.near || a.sec - b.sec);
  return (
    <li class={`pair${on ? " pair-now" : ""}`}>
      <button type="button" class="pair-head" aria-expanded={on} onClick={() => pairCell.set(on ? -1 : index)}>
        <span>
          <Swatch voice={voiceIndex(work, p.a)} /> {p.a}
        </span>
        <span>
          <Swatch voice={voiceIndex(work, p.b)} /> {p.b}
        </span>
        <span class="tabular second">{p.ratio ? ratio(p) : ""}</span>
        <span class="count">{p.count}</span>
      </button>
      {on && (
        <>
          <Canvas class="meets" role="img" aria-label={tn("meetings.label", p.count, { a: p.a, b: p.b })} paint={(ctx, w, h) => paintMeetings(ctx, w, h, work, p)} />
          <p>{p.reason}</p>
          <ol class="meets-list">
            {steps.slice(0, 40).map((m) => (
              <li key={`${m.sec} ${m.near}`}>
                <button type="button" class="link tabular" onClick={() => seek(m.sec)}>
                  {clock(m.sec, 2)}
                </button>{" "}
                {t(m.near ? "meetings.near" : "meetings.met", { dist: span(m.near), one: p.a, two: p.b, a: m.noteA, b: m.noteB })}
              </li>
            ))}
          </ol>
        </>
      )}
    </li>
  );
}

function ratio(p: Pair): string {
  const exact = p.ratio ?? "";
  return /^\d+(\/\d+)?$/.test(exact) || p.decimal === null ? exact : `${exact} ≈ ${number(p.decimal, 4)}`;
}

function paintTempo(ctx: CanvasRenderingContext2D, width: number, height: number, work: Work, plan: Plan): void {
  const look = palette();
  const left = 38;
  const x = axis(ctx, width, height, work.durationSec, look, left);
  const all = plan.tempo.flatMap((v) => v.points.map((p) => p[1]));
  if (all.length === 0) return;
  const low = Math.min(...all) / 1.15;
  const high = Math.max(...all) * 1.15;
  const base = height - 18;
  // Tempos are ratios: equal ratios are equal heights.
  const y = (q: number) => base - (Math.log(q / low) / Math.log(high / low)) * (base - 6);
  ctx.fillStyle = look.second;
  ctx.textAlign = "right";
  ctx.textBaseline = "middle";
  for (const q of [Math.max(...all), Math.min(...all)]) ctx.fillText(number(q, q < 100 ? 1 : 0), left - 5, y(q));
  ctx.lineWidth = 2;
  ctx.lineCap = "round";
  for (const v of plan.tempo) {
    ctx.strokeStyle = v.voice % 8 === 7 && look.bench < "#8" ? look.second : hue(v.voice);
    ctx.setLineDash(pattern(v.voice, 2));
    ctx.beginPath();
    v.points.forEach(([sec, q], i) => (i ? ctx.lineTo(x(sec), y(q)) : ctx.moveTo(x(sec), y(q))));
    ctx.stroke();
  }
  ctx.setLineDash([]);
  playhead(ctx, x(Math.max(0, heard())), base, look);
}

function paintDensity(ctx: CanvasRenderingContext2D, width: number, height: number, work: Work, plan: Plan): void {
  const look = palette();
  const left = 38;
  const x = axis(ctx, width, height, work.durationSec, look, left);
  const { binSec, counts } = plan.density;
  const most = Math.max(1, ...counts);
  const base = height - 18;
  const y = (n: number) => base - (n / most) * (base - 8);
  ctx.fillStyle = look.second;
  ctx.textAlign = "right";
  ctx.textBaseline = "middle";
  ctx.fillText(number(most / binSec, 1), left - 5, y(most));
  ctx.fillText("0", left - 5, base);
  ctx.strokeStyle = look.ink;
  ctx.lineWidth = 1.2;
  ctx.beginPath();
  ctx.moveTo(x(0), base);
  counts.forEach((n, i) => {
    ctx.lineTo(x(i * binSec), y(n));
    ctx.lineTo(x((i + 1) * binSec), y(n));
  });
  ctx.lineTo(x(counts.length * binSec), base);
  ctx.stroke();
  playhead(ctx, x(Math.max(0, heard())), base, look);
}

const fewPairs = 20; // all of them are listed, those that never meet too
const mostPairs = 60; // at a time

export function Meetings() {
  const [all, setAll] = useState(false);
  const [most, setMost] = useState(mostPairs);
  const work = use(workCell);
  use(isDark);
  const plan = use(planCell);
  if (!work || !plan) return <p class="note">{t("findings.waiting")}</p>;
  const { pairs } = plan;
  // Those that meet come first; those that never do stand behind a button where they are many.
  const order = pairs.map((_, i) => i).sort((a, b) => pairs[b].count - pairs[a].count || a - b);
  const meeting = order.filter((i) => pairs[i].count > 0);
  const few = pairs.length <= fewPairs;
  const listed = few || all ? order : meeting;
  const left = order.length - listed.length;
  return (
    <div class="meetings">
      {pairs.length === 0 && <p class="note">{t("meetings.none")}</p>}
      {pairs.length > 0 && (
        <>
          <h2>{t("meetings.pairs")}</h2>
          <ul class="pairs">
            {listed.length > 0 && (
              <li class="pair-names second">
                <span>{t("meetings.voices")}</span>
                <span>{t("meetings.ratio")}</span>
                <span>{t("meetings.count")}</span>
              </li>
            )}
            {listed.slice(0, most).map((i) => (
              <PairView key={`${pairs[i].a} ${pairs[i].b}`} work={work} p={pairs[i]} index={i} />
            ))}
          </ul>
          {listed.length > most && (
            <button type="button" class="link" onClick={() => setMost(most + mostPairs)}>
              {t("meetings.further", { n: number(listed.length - most) })}
            </button>
          )}
          {!few && meeting.length === 0 && <p class="note">{t("meetings.never")}</p>}
          {left > 0 && (
            <button type="button" class="link" onClick={() => setAll(true)}>
              {tn("meetings.rest", left)}
            </button>
          )}
        </>
      )}
      <h2>{t("meetings.tempo")}</h2>
      <Canvas class="chart" role="img" aria-label={t("meetings.tempo.label")} paint={(ctx, w, h) => paintTempo(ctx, w, h, work, plan)} />
      <h2>{t("meetings.density")}</h2>
      <Canvas class="chart" role="img" aria-label={t("meetings.density.label")} paint={(ctx, w, h) => paintDensity(ctx, w, h, work, plan)} />
    </div>
  );
}
