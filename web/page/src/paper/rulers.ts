// Rulers at the edges of the paper: time at the left, length at the right, and
// the units of the chosen voice beside the time.
import { clock, lengthUnit, measure } from "../format";
import { sans } from "../look/canvas";
import { repaint } from "../look/frames";
import { hue } from "../look/voice";
import { t } from "../words";
import { items as itemsOf } from "../parts";
import { after, type Voice } from "../work";
import type { Scene } from "./holes";
import { alongAt, secAt, speedAt } from "./transport";

lengthUnit.watch(repaint);

export const rulerWidth = 58;
export const narrowRuler = 40;
const headTall = 28; // where the name of the unit stands
const leastGap = 56; // pixels between two labels

const timeSteps = [0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600];
const mmSteps = [0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000];
const inchSteps = [1 / 64, 1 / 16, 1 / 8, 1 / 4, 1 / 2, 1, 2, 6, 12, 24, 60, 120, 240, 600];

function stepOf(steps: number[], least: number): number {
  return steps.find((s) => s >= least) ?? steps[steps.length - 1];
}

export function paintRulers(s: Scene, voice: Voice | undefined, narrow: boolean): void {
  const { ctx, view, look } = s;
  const width = narrow ? narrowRuler : rulerWidth;
  ctx.fillStyle = look.bench;
  ctx.globalAlpha = 0.9;
  ctx.fillRect(0, 0, width, view.height);
  ctx.fillRect(view.width - width, 0, width, view.height);
  ctx.globalAlpha = 1;
  ctx.strokeStyle = look.line;
  ctx.lineWidth = 1;
  ctx.beginPath();
  ctx.moveTo(width + 0.5, 0);
  ctx.lineTo(width + 0.5, view.height);
  ctx.moveTo(view.width - width - 0.5, 0);
  ctx.lineTo(view.width - width - 0.5, view.height);
  ctx.stroke();
  ctx.font = `${narrow ? 10 : 11.5}px ${sans}`;
  ctx.textBaseline = "middle";
  timeRuler(s, width);
  lengthRuler(s, width);
  if (voice && !narrow) unitRuler(s, voice, width);
}

function timeRuler(s: Scene, width: number): void {
  const { ctx, view, piano, look } = s;
  const tr = piano.transport;
  const [low, high] = view.seen.map((a) => secAt(tr, a));
  const perSec = speedAt(tr, (low + high) / 2) * view.zoom;
  const step = stepOf(timeSteps, leastGap / perSec);
  const places = step >= 1 ? 0 : step >= 0.1 ? 1 : step >= 0.01 ? 2 : 3;
  const fine = step / 5;
  ctx.textAlign = "right";
  ctx.beginPath();
  for (let n = Math.ceil(Math.max(0, low) / fine); n * fine <= high; n++) {
    const y = Math.round(view.y(alongAt(tr, n * fine))) + 0.5;
    const main = n % 5 === 0;
    ctx.moveTo(width, y);
    ctx.lineTo(width - (main ? 8 : 4), y);
    if (main && y > headTall) {
      ctx.fillStyle = look.second;
      ctx.fillText(clock(n * fine, places), width - 10, y);
    }
  }
  ctx.strokeStyle = look.second;
  ctx.stroke();
}

function lengthRuler(s: Scene, width: number): void {
  const { ctx, view, look } = s;
  const feet = lengthUnit.value === "feet";
  const unit = feet ? 25.4 : 1;
  const [low, high] = view.seen.map((mm) => mm / unit);
  const step = stepOf(feet ? inchSteps : mmSteps, leastGap / unit / view.zoom);
  const parts = feet && step < 12 ? 4 : feet && step === 12 ? 6 : 5;
  const fine = step / parts;
  const label = (x: number): string => {
    if (!feet) return step >= 100 ? measure(x / 1000, step >= 1000 ? 0 : 1) : measure(x, step < 1 ? 1 : 0);
    if (step >= 12) return `${measure(x / 12)}′`;
    const whole = Math.trunc(x / 12 + Math.sign(x) * 1e-9);
    const inches = `${measure(whole ? Math.abs(x - whole * 12) : x, step < 0.25 ? 3 : step < 1 ? 2 : 0)}″`;
    return whole ? `${measure(whole)}′${inches}` : inches;
  };
  const edge = view.width - width;
  ctx.textAlign = "left";
  ctx.beginPath();
  for (let n = Math.ceil(low / fine); n * fine <= high; n++) {
    const y = Math.round(view.y(n * fine * unit)) + 0.5;
    const main = n % parts === 0;
    ctx.moveTo(edge, y);
    ctx.lineTo(edge + (main ? 8 : 4), y);
    if (main && y > headTall) {
      ctx.fillStyle = look.second;
      ctx.fillText(label(n * fine).replace("-", "−"), edge + 10, y);
    }
  }
  ctx.strokeStyle = look.second;
  ctx.stroke();
  ctx.fillStyle = look.second;
  ctx.textAlign = "center";
  const name = feet ? (step >= 12 ? t("unit.feet") : t("unit.inches")) : step >= 100 ? t("unit.m") : t("unit.mm");
  box(s, name, edge + width / 2, 12);
  box(s, t("unit.time"), width / 2, 12);
}

/** A word on a patch of bench, so that it can be read over ticks. */
function box(s: Scene, text: string, x: number, y: number): void {
  const { ctx, look } = s;
  const w = ctx.measureText(text).width + 8;
  ctx.textAlign = "center";
  ctx.fillStyle = look.bench;
  ctx.fillRect(x - w / 2, y - 10, w, 20);
  ctx.fillStyle = look.ink;
  ctx.fillText(text, x, y);
}

/** The items of a voice: a tick each, a longer one where a talea begins, with its number. */
function unitRuler(s: Scene, voice: Voice, left: number): void {
  const { ctx, view, piano, look, work } = s;
  if (voice.piano !== piano.name && work.pianos.length > 1) return;
  const tr = piano.transport;
  const [low, high] = view.seen.map((a) => secAt(tr, a));
  const items = itemsOf(work, voice.index);
  if (!items) return;
  let i = Math.max(0, after(items.at, low) - 1);
  const stop = after(items.at, high);
  if (stop - i > 4000) return; // ticks closer than pixels say nothing
  const x = left + 1;
  const paperX = view.edges[0];
  // Words stand on the paper when it is near, else on the bench.
  const onPaper = paperX < x + 70;
  const wordsX = onPaper ? Math.max(x + 15, paperX + 5) : x + 15;
  const ink = onPaper ? look.print : look.second;
  ctx.strokeStyle = hue(voice.index);
  ctx.lineWidth = 1.5;
  ctx.textAlign = "left";
  const taken: number[] = onPaper ? [view.barY] : []; // the bar lies over the paper
  ctx.fillStyle = ink;
  ctx.beginPath();
  for (; i < stop; i++) {
    const y = Math.round(view.y(alongAt(tr, items.at[i]))) + 0.5;
    const begins = i === 0 || items.taleaN[i] !== items.taleaN[i - 1];
    ctx.moveTo(x, y);
    ctx.lineTo(x + (begins ? 12 : items.note[i] ? 6 : 3), y);
    if (!begins || taken.some((t) => Math.abs(t - y) < 16)) continue;
    taken.push(y);
    ctx.fillText(t("paper.talea.n", { n: items.taleaN[i] + 1 }), wordsX, y);
  }
  ctx.stroke();
  if (voice.secPerUnit !== null) units(s, voice, wordsX, ink, taken);
}

/** The count of units from the voice's start, where it keeps one tempo and a word has not taken the place. */
function units(s: Scene, voice: Voice, x: number, ink: string, taken: number[]): void {
  const { ctx, view, piano } = s;
  const tr = piano.transport;
  const per = voice.secPerUnit!;
  const [low, high] = view.seen.map((a) => (secAt(tr, a) - voice.startSec) / per);
  const pixels = speedAt(tr, voice.startSec) * per * view.zoom;
  const step = stepOf([1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 1024, 4096], leastGap / pixels);
  ctx.fillStyle = ink;
  ctx.globalAlpha = 0.8;
  const most = (voice.endSec - voice.startSec) / per;
  for (let n = Math.ceil(Math.max(0, low) / step); n * step <= Math.min(high, most + 1e-6); n++) {
    const y = view.y(alongAt(tr, voice.startSec + n * step * per));
    if (taken.some((t) => Math.abs(t - y) < 14)) continue;
    ctx.fillText(t("paper.units", { n: n * step }), x, y);
  }
  ctx.globalAlpha = 1;
}
