// What is in the notes: series that come back, lines that are another at another
// speed; each laid over the paper, heard alone, taken into a piece.
import { useState } from "preact/hooks";
import { ask, getBinary } from "../api";
import { Cell, use } from "../cell";
import { number } from "../format";
import { Running } from "../jobs";
import { sans } from "../look/canvas";
import { repaint } from "../look/frames";
import { NameLine } from "../panels/folder";
import type { Scene } from "../paper/holes";
import { alongAt, secAt } from "../paper/transport";
import { offer, playFrom, source } from "../sound/player";
import { page, say, showLeft, stale, work as workCell } from "../state";
import { listFiles, open, openFile, subject } from "../text/document";
import { t, tn } from "../words";
import { after, type Events, type Work } from "../work";
import { Progress } from "./progress";

interface Row {
  label: string;
  says: string;
}
interface Begin {
  n: number;
  note: number;
}
interface Design {
  job: string;
  work: string;
  summary: string;
  count: number;
  unexplained: number;
  voices: { name: string; claims: boolean; says: Row[]; taleaAt: Begin[]; colorAt: Begin[] }[];
  canons: { leader: number; follower: number; meetSec: number | null; says: Row[] }[];
  start: Float64Array;
  end: Float64Array;
  of: Int32Array;
  key: Uint8Array;
  level: Uint8Array;
  piano: Uint8Array;
  explained: Uint8Array;
  pairs: { canon: Int32Array; leader: Int32Array; follower: Int32Array };
}
interface Claim {
  kind: "voice" | "canon";
  index: number;
}

const running = new Running();
const found = new Cell<Design | null>(null);
/** The claim that lies over the paper. */
const chosen = new Cell<Claim | null>(null);

function current(work: Work | null): Design | null {
  const d = found.value;
  return d && work && d.work === work.id ? d : null;
}

workCell.watch((w) => {
  if (!current(w)) {
    chosen.set(null);
    offer("design", null);
  }
});
chosen.watch(repaint);

async function look(): Promise<void> {
  found.set(null);
  chosen.set(null);
  const id = await running.run("design", subject());
  if (!id) return;
  try {
    const { json, arrays } = await getBinary(`design/${id}/all`);
    const note = (name: string) => arrays[`note_${name}`] as never;
    const pair = (name: string) => arrays[`pair_${name}`] as Int32Array;
    found.set({
      ...(json as unknown as Design),
      job: id,
      start: note("start"),
      end: note("end"),
      of: note("of"),
      key: note("key"),
      level: note("level"),
      piano: note("piano"),
      explained: note("explained"),
      pairs: { canon: pair("canon"), leader: pair("leader"), follower: pair("follower") },
    });
  } catch (e) {
    running.fail(e);
  }
}

function voicesOf(d: Design, c: Claim): number[] {
  return c.kind === "voice" ? [c.index] : [d.canons[c.index].leader, d.canons[c.index].follower];
}

const noVoice = 1_000_000; // none of the piece's: heard whatever is silenced there
const usualLevel = 80;

/** The notes of a claim, to be heard alone. */
function eventsOf(d: Design, c: Claim): Events {
  const voices = new Set(voicesOf(d, c));
  const rows = [...d.start.keys()].filter((i) => voices.has(d.of[i]));
  return {
    start: Float64Array.from(rows, (i) => d.start[i]),
    end: Float64Array.from(rows, (i) => d.end[i]),
    voice: new Int32Array(rows.length).fill(noVoice),
    note: Int32Array.from(rows),
    key: Uint8Array.from(rows, (i) => d.key[i]),
    level: Uint8Array.from(rows, (i) => d.level[i] || usualLevel),
    piano: Uint8Array.from(rows, (i) => d.piano[i]),
  };
}

function hear(d: Design, c: Claim, name: string): void {
  chosen.set(c);
  const events = eventsOf(d, c);
  offer("design", { label: name, events });
  source.set("design");
  playFrom(Math.max(0, (events.start[0] ?? 0) - 0.3));
}

function lay(c: Claim, on: boolean): void {
  chosen.set(on ? c : null);
  if (on && matchMedia("(max-width: 899px)").matches) page.set("paper");
}

async function take(d: Design, voices: number[], to: string): Promise<void> {
  try {
    const made = await ask<{ name: string }>("design/take", { id: d.job, voices, to });
    await listFiles();
    await openFile(made.name);
    showLeft("text");
  } catch (e) {
    say(e instanceof Error ? e.message : String(e));
  }
}

function stemOf(name: string): string {
  return name.replace(/\.[^.]*$/, "");
}

function Taking({ d, voices, label, initial, main }: { d: Design; voices: number[]; label: string; initial: string; main?: boolean }) {
  const [asking, setAsking] = useState(false);
  if (asking) return <NameLine label={t("folder.name")} initial={initial} done={(to) => void take(d, voices, to)} cancel={() => setAsking(false)} />;
  return (
    <button type="button" class={main ? "main" : undefined} onClick={() => setAsking(true)}>
      {label}
    </button>
  );
}

function Card({ d, c, title, says }: { d: Design; c: Claim; title: string; says: Row[] }) {
  const now = use(chosen);
  const on = now?.kind === c.kind && now.index === c.index;
  const stem = stemOf(use(open)?.name || use(open)?.example || "");
  return (
    <li class={on ? "card card-now claim" : "card claim"}>
      <h2>{title}</h2>
      <dl>
        {says.map((r, i) => (
          <div key={i}>
            <dt>{r.label}</dt>
            <dd>{r.says}</dd>
          </div>
        ))}
      </dl>
      <div class="row">
        <button type="button" aria-pressed={on} aria-label={`${t("design.lay")}: ${title}`} onClick={() => lay(c, !on)}>
          {t("design.lay")}
        </button>
        <button type="button" aria-label={`${t("design.hear")}: ${title}`} onClick={() => hear(d, c, title)}>
          {t("design.hear")}
        </button>
        <Taking d={d} voices={voicesOf(d, c)} label={t("design.take")} initial={`${stem}-${voicesOf(d, c).map((v) => d.voices[v].name.replaceAll(/[^\p{L}\p{N}]+/gu, "-")).join("-")}`} />
      </div>
    </li>
  );
}

function Answer({ d }: { d: Design }) {
  const stem = stemOf(use(open)?.name || use(open)?.example || "");
  const names = d.voices.map((v) => v.name);
  const claims = d.voices.some((v) => v.claims) || d.canons.length > 0;
  return (
    <>
      <p class="big-claim">{d.summary}</p>
      {claims && (
        <p>
          <Taking d={d} voices={[]} label={t("design.take.all")} initial={`${stem}-found`} main />
        </p>
      )}
      {claims && <p class="second">{t("design.marks")}</p>}
      <ul class="cards">
        {d.canons.map((c, i) => (
          <Card key={`c${i}`} d={d} c={{ kind: "canon", index: i }} title={t("design.canon", { a: names[c.leader], b: names[c.follower] })} says={c.says} />
        ))}
        {d.voices.map((v, i) => (
          <Card key={`v${i}`} d={d} c={{ kind: "voice", index: i }} title={t("design.voice", { name: v.name })} says={v.says} />
        ))}
      </ul>
      {d.unexplained > 0 && <p class="second">{tn("design.left", d.unexplained, { of: number(d.count) })}</p>}
    </>
  );
}

export function DesignView() {
  const work = use(workCell);
  const off = use(stale);
  use(found);
  const d = current(work);
  return (
    <div class="design">
      <p>{t("design.lead")}</p>
      <button type="button" class={d ? undefined : "main"} disabled={off || !work} onClick={() => void look()}>
        {t(d ? "design.again" : "design.look")}
      </button>
      <Progress of={running} what={t("step.finding")} />
      {found.value && !d && <p class="note note-amber">{t("design.old")}</p>}
      {d && <Answer d={d} />}
    </div>
  );
}

interface Spot {
  x: number;
  y: number;
  along: number;
}

/** Where a note's hole begins on the screen; null where its piano has no port for it. */
function spotOf(s: Scene, d: Design, ports: Map<number, number>, note: number): Spot | null {
  if (d.piano[note] !== s.pianoIndex) return null;
  const port = ports.get(d.key[note]);
  if (port === undefined) return null;
  let along = alongAt(s.piano.transport, d.start[note]);
  const slot = s.index.at(port, along, 3);
  if (slot >= 0) along = s.work.slots.lead[slot];
  return { x: s.view.x(s.piano.ports[port].across), y: s.view.y(along), along };
}

const mostInView = 1500; // notes: nobody could tell more marks apart

/** The claim that was chosen, over the paper. */
export function paintDesign(s: Scene): void {
  const d = current(s.work);
  const c = chosen.value;
  if (!d || !c) return;
  const ports = new Map<number, number>();
  s.piano.ports.forEach((p, i) => p.key >= 0 && ports.set(p.key, i));
  const [low, high] = s.view.seen.map((a) => secAt(s.piano.transport, a));
  if (c.kind === "canon") return paintPartners(s, d, c.index, ports, low, high);
  paintNotes(s, d, c.index, ports, low, high);
  paintBegins(s, d, d.voices[c.index].taleaAt, ports, low, high, "talea");
  paintBegins(s, d, d.voices[c.index].colorAt, ports, low, high, "color");
}

/** A ring about each note of a voice: whole where it is explained, broken where it is not. */
function paintNotes(s: Scene, d: Design, voice: number, ports: Map<number, number>, low: number, high: number): void {
  const { ctx, view } = s;
  const from = after(d.start, low);
  const to = after(d.start, high);
  if (to - from > mostInView) return;
  const r = Math.max(3.5, view.zoom * 1.5);
  ctx.strokeStyle = s.look.brassDark;
  ctx.lineWidth = 1.5;
  for (let i = from; i < to; i++) {
    if (d.of[i] !== voice) continue;
    const at = spotOf(s, d, ports, i);
    if (!at) continue;
    ctx.setLineDash(d.explained[i] ? [] : [2, 3]);
    ctx.beginPath();
    ctx.arc(at.x, at.y, r, 0, 2 * Math.PI);
    ctx.stroke();
  }
  ctx.setLineDash([]);
}

/** The beginnings of statements: taleae with a bar and their number at the left, colores with a diamond and theirs at the right. */
function paintBegins(s: Scene, d: Design, list: Begin[], ports: Map<number, number>, low: number, high: number, what: "talea" | "color"): void {
  const { ctx, view, look } = s;
  ctx.font = `600 12px ${sans}`;
  ctx.textBaseline = "middle";
  const left = what === "talea";
  ctx.textAlign = left ? "right" : "left";
  const side = left ? -1 : 1;
  let last = Infinity;
  for (const b of list) {
    if (d.start[b.note] < low || d.start[b.note] > high) continue;
    const at = spotOf(s, d, ports, b.note);
    if (!at) continue;
    const x = at.x + side * Math.max(7, view.zoom * 2.2);
    ctx.fillStyle = ctx.strokeStyle = look.print;
    ctx.lineWidth = 2;
    ctx.beginPath();
    if (left) {
      ctx.moveTo(x, at.y - 7);
      ctx.lineTo(x, at.y + 7);
      ctx.stroke();
    } else {
      ctx.moveTo(x, at.y - 5);
      ctx.lineTo(x + 5, at.y);
      ctx.lineTo(x, at.y + 5);
      ctx.lineTo(x - 5, at.y);
      ctx.fill();
    }
    if (Math.abs(at.y - last) < 13) continue;
    last = at.y;
    const words = t(`design.${what}.n`, { n: b.n });
    const wide = ctx.measureText(words).width;
    const tx = x + side * 9;
    ctx.fillStyle = look.paper;
    ctx.globalAlpha = 0.85;
    ctx.fillRect(left ? tx - wide - 2 : tx - 2, at.y - 8, wide + 4, 16);
    ctx.globalAlpha = 1;
    ctx.fillStyle = look.print;
    ctx.fillText(words, tx, at.y);
  }
}

/** The partners of a canon, each pair joined by a line, and where the two are at one place. */
function paintPartners(s: Scene, d: Design, canon: number, ports: Map<number, number>, low: number, high: number): void {
  const { ctx, view, look } = s;
  const { pairs } = d;
  ctx.strokeStyle = ctx.fillStyle = look.print;
  ctx.lineWidth = 1.2;
  const r = Math.max(2.5, Math.min(5, view.zoom));
  let drawn = 0;
  for (let i = 0; i < pairs.canon.length && drawn < mostInView; i++) {
    if (pairs.canon[i] !== canon) continue;
    const [a, b] = [pairs.leader[i], pairs.follower[i]];
    if (Math.max(d.start[a], d.start[b]) < low || Math.min(d.start[a], d.start[b]) > high) continue;
    const one = spotOf(s, d, ports, a);
    const two = spotOf(s, d, ports, b);
    if (!one || !two) continue;
    drawn++;
    ctx.globalAlpha = 0.65;
    ctx.beginPath();
    ctx.moveTo(one.x, one.y);
    ctx.lineTo(two.x, two.y);
    ctx.stroke();
    ctx.globalAlpha = 1;
    ctx.beginPath();
    ctx.arc(one.x, one.y, r, 0, 2 * Math.PI); // the leader's full, the follower's a ring
    ctx.fill();
    ctx.beginPath();
    ctx.arc(two.x, two.y, r + 1, 0, 2 * Math.PI);
    ctx.stroke();
  }
  const meet = d.canons[canon].meetSec;
  if (meet === null || meet < low || meet > high) return;
  const [left, right] = view.edges;
  const y = Math.round(view.y(alongAt(s.piano.transport, meet))) + 0.5;
  ctx.strokeStyle = look.brassDark;
  ctx.lineWidth = 2;
  ctx.setLineDash([8, 4]);
  ctx.beginPath();
  ctx.moveTo(left, y);
  ctx.lineTo(right, y);
  ctx.stroke();
  ctx.setLineDash([]);
  ctx.font = `600 12px ${sans}`;
  ctx.textAlign = "right";
  ctx.textBaseline = "bottom";
  ctx.fillStyle = look.print;
  ctx.fillText(t("design.meet"), right - 12, y - 3);
}

/** For tests. */
export const designState = { found, chosen };
