// The paper itself: on the bench, over the bar, onto the spool below; with
// what is printed on its leader.
import { sans, serif } from "../look/canvas";
import { t } from "../words";
import { number } from "../format";
import type { Scene } from "./holes";

/** Height on the screen of what is seen of the take-up spool. */
export const spoolHeight = 38;

export function paintPaper(s: Scene): void {
  const { ctx, view, piano, look } = s;
  const [left, right] = view.edges;
  const start = view.y(-piano.paper.leader);
  const end = view.y(piano.paper.musicMM + piano.paper.trailer);
  const top = Math.max(-20, Math.min(start, end));
  const bottom = Math.min(view.height + 20, Math.max(start, end));
  if (bottom <= top) return;
  ctx.save();
  ctx.shadowColor = "rgba(20, 14, 4, 0.35)";
  ctx.shadowBlur = 14;
  ctx.shadowOffsetY = 2;
  ctx.fillStyle = look.paper;
  ctx.fillRect(left, top, right - left, bottom - top);
  ctx.restore();

  // The paper curls a little at its edges.
  const curl = Math.min(26, (right - left) * 0.05);
  const shade = ctx.createLinearGradient(left, 0, right, 0);
  const w = right - left;
  shade.addColorStop(0, look.paperShade);
  shade.addColorStop(curl / w, look.paper);
  shade.addColorStop(1 - curl / w, look.paper);
  shade.addColorStop(1, look.paperShade);
  ctx.fillStyle = shade;
  ctx.fillRect(left, top, w, bottom - top);
  ctx.strokeStyle = look.edge;
  ctx.lineWidth = 1;
  ctx.strokeRect(left + 0.5, top + 0.5, w - 1, bottom - top - 1);
}

/** Hairlines: the margins that holes keep clear of, and the columns of the notes C. */
export function paintGuides(s: Scene): void {
  const { ctx, view, piano, look } = s;
  const start = view.y(-20);
  const end = view.y(piano.paper.musicMM);
  const top = Math.max(0, Math.min(start, end));
  const bottom = Math.min(view.height, Math.max(start, end));
  if (bottom <= top || view.zoom < 0.9) return;
  ctx.lineWidth = 1;
  const line = (across: number) => {
    const x = Math.round(view.x(across)) + 0.5;
    ctx.moveTo(x, top);
    ctx.lineTo(x, bottom);
  };
  ctx.strokeStyle = look.printFaint;
  ctx.globalAlpha = 0.35;
  ctx.beginPath();
  for (const p of piano.ports) if (p.key >= 0 && p.key % 12 === 0) line(p.across);
  ctx.stroke();
  ctx.globalAlpha = 0.5;
  ctx.setLineDash([2, 5]);
  ctx.beginPath();
  line(piano.paper.edge);
  line(piano.paper.width - piano.paper.edge);
  ctx.stroke();
  ctx.setLineDash([]);
  ctx.globalAlpha = 1;
}

/** What a roll maker prints ahead of the music: the title, the tempo, which edge is which, where it starts. */
export function paintLeader(s: Scene): void {
  const { ctx, view, piano, look, work } = s;
  const [left, right] = view.edges;
  const z = view.zoom;
  if (z < 0.5 || view.y(-140) < -40 || view.y(0) > view.height + 40) return;
  const middle = (left + right) / 2;
  ctx.fillStyle = look.print;
  ctx.textAlign = "center";
  ctx.textBaseline = "alphabetic";
  const write = (text: string, along: number, mm: number, face: string, style = "", x = middle) => {
    const size = Math.min(64, mm * z);
    if (size < 5) return;
    ctx.font = `${style} ${size}px ${face}`;
    ctx.fillText(text, x, view.y(along), (right - left) * 0.9);
  };
  // A long title is set smaller, and in two lines where it would be squeezed still.
  ctx.font = `${9.5 * z}px ${serif}`;
  const room = (right - left) * 0.9;
  const share = ctx.measureText(work.title).width / room;
  const middleBlank = [...work.title.matchAll(/ /g)].map((m) => m.index).sort((a, b) => Math.abs(a - work.title.length / 2) - Math.abs(b - work.title.length / 2))[0];
  if (share > 1.4 && middleBlank !== undefined) {
    const mm = Math.max(3.8, Math.min(6.5, (9.5 * 1.8) / share));
    write(work.title.slice(0, middleBlank), -46 + mm * 1.15, mm, serif);
    write(work.title.slice(middleBlank + 1), -46, mm, serif);
  } else write(work.title, -46, 9.5 / Math.max(1, share), serif);
  const name = piano.name ? `${piano.name} · ` : "";
  write(`${name}${t("paper.tempo", { tempo: number(piano.rollTempo, 1) })}`, -57, 4.6, serif, "italic");
  write(`↓ ${t("paper.start")}`, -20, 3.8, sans, "600");
  ctx.textAlign = piano.paper.bass === "left" ? "left" : "right";
  const inset = 9 * z;
  const bassX = piano.paper.bass === "left" ? left + inset : right - inset;
  const trebleX = piano.paper.bass === "left" ? right - inset : left + inset;
  write(t("paper.bass"), -20, 3.8, sans, "", bassX);
  ctx.textAlign = piano.paper.bass === "left" ? "right" : "left";
  write(t("paper.treble"), -20, 3.8, sans, "", trebleX);
  ctx.strokeStyle = look.print;
  ctx.lineWidth = Math.max(1, 0.35 * z);
  ctx.beginPath();
  ctx.moveTo(left + inset, view.y(-16));
  ctx.lineTo(right - inset, view.y(-16));
  ctx.stroke();
}

/** The take-up spool at the lower edge: paper winds onto it and darkens as it turns away. */
export function paintSpool(s: Scene, sec: number): void {
  const { ctx, view, look, piano } = s;
  const [left, right] = view.edges;
  const top = view.height - spoolHeight;
  const round = ctx.createLinearGradient(0, top - 6, 0, view.height);
  round.addColorStop(0, "rgba(60, 44, 20, 0)");
  round.addColorStop(0.22, "rgba(60, 44, 20, 0.28)");
  round.addColorStop(0.45, "rgba(255, 248, 228, 0.16)");
  round.addColorStop(0.75, "rgba(40, 28, 10, 0.3)");
  round.addColorStop(1, "rgba(20, 12, 2, 0.72)");
  ctx.fillStyle = round;
  ctx.fillRect(left, top - 6, right - left, spoolHeight + 6);
  const flange = (x: number) => {
    const g = ctx.createLinearGradient(0, top - 10, 0, view.height);
    g.addColorStop(0, look.brassDark);
    g.addColorStop(0.25, look.brassLight);
    g.addColorStop(0.55, look.brass);
    g.addColorStop(1, look.brassDark);
    ctx.fillStyle = g;
    ctx.beginPath();
    ctx.roundRect(x, top - 10, 7, spoolHeight + 14, 3);
    ctx.fill();
    // A notch on the flange turns with the spool.
    const turn = (((sec * piano.transport.v0) / (2 * Math.PI * 22)) % 1) * (spoolHeight + 14);
    ctx.fillStyle = look.brassDark;
    ctx.fillRect(x + 1, top - 10 + ((turn + spoolHeight + 14) % (spoolHeight + 14)), 5, 2);
  };
  flange(left - 8);
  flange(right + 1);
}
