// A recording of the instrument beside the paper: it plays in time with it, and
// every stroke says whether it sounded.
import { useEffect } from "preact/hooks";
import { getBinary, type OtherFile } from "../api";
import { Cell, use } from "../cell";
import { bytes, clock, length, number } from "../format";
import { Running } from "../jobs";
import { sans } from "../look/canvas";
import { repaint } from "../look/frames";
import { Swatch } from "../look/voice";
import type { Scene } from "../paper/holes";
import { alongAt, secAt } from "../paper/transport";
import { ended, offer, play, seek, source, type Recording } from "../sound/player";
import { others, page, piano as pianoCell, session, stale, work as workCell } from "../state";
import { listOthers, subject } from "../text/document";
import { reveal } from "../text/editor";
import { t, tn } from "../words";
import type { Transport, Work } from "../work";
import { Progress } from "./progress";

interface SilentKey {
  pitch: string;
  port: number;
  strokes: number;
  dead: boolean;
  says: string;
  at: number[];
}
interface Heard {
  work: string;
  take: string;
  takeSec: number;
  beginSec: number;
  transport: Transport;
  said: string[];
  counts: { strokes: number; sounded: number; silent: number; unsure: number; beyond: number };
  silent: SilentKey[];
  piano: number;
  slot: Int32Array;
  verdict: Uint8Array;
  sure: Float64Array;
  at: Float64Array; // seconds of the take
  late: Float64Array;
}

const sounded = 0;
const silent = 1;
const unsure = 2;

const running = new Running();
const heardOf = new Cell<Heard | null>(null);
/** The stroke that is looked at; -1: none. */
const chosen = new Cell(-1);
const wanted = new Cell(""); // the recording that was asked for last

/** What was heard, while it is of the paper that is shown. */
function current(work: Work | null): Heard | null {
  const h = heardOf.value;
  return h && work && h.work === work.id ? h : null;
}

/** The recording as something that plays, its time turned into the piece's by the paper. */
class TakeSound implements Recording {
  private readonly sound: HTMLAudioElement;
  private readonly planned: Transport;

  constructor(
    private readonly heard: Heard,
    work: Work,
  ) {
    this.planned = work.pianos[heard.piano].transport;
    this.sound = new Audio(`api/take/sound?name=${encodeURIComponent(heard.take)}`);
    this.sound.preload = "auto";
    this.sound.onended = () => ended(this);
  }

  private takeAt(sec: number): number {
    const { beginSec, transport, takeSec } = this.heard;
    return Math.max(0, Math.min(takeSec, beginSec + secAt(transport, alongAt(this.planned, sec))));
  }

  async start(sec: number, rate: number): Promise<void> {
    this.sound.currentTime = this.takeAt(sec);
    this.sound.playbackRate = rate;
    await this.sound.play();
  }
  stop(): void {
    this.sound.pause();
  }
  seek(sec: number): void {
    this.sound.currentTime = this.takeAt(sec);
  }
  now(): number {
    const { beginSec, transport } = this.heard;
    return secAt(this.planned, alongAt(transport, this.sound.currentTime - beginSec));
  }
  rate(rate: number): void {
    this.sound.playbackRate = rate;
  }
  volume(share: number): void {
    this.sound.volume = Math.min(1, share);
  }
}

async function listen(take: string): Promise<void> {
  wanted.set(take);
  forget();
  const piano = pianoCell.value;
  const id = await running.run("take", { ...subject(), piano, take });
  if (!id) return;
  try {
    const { json, arrays } = await getBinary(`take/${id}/all`);
    const array = (name: string) => arrays[`take_${name}`] as never;
    const heard: Heard = {
      ...(json as unknown as Heard),
      piano,
      slot: array("slot"),
      verdict: array("verdict"),
      sure: array("sure"),
      at: array("at"),
      late: array("late"),
    };
    heardOf.set(heard);
    hold();
  } catch (e) {
    running.fail(e);
  }
}

/** Offers the recording to the player while it is of the paper that is shown. */
function hold(): void {
  const work = workCell.value;
  const h = current(work);
  offer("take", h && work ? { label: t("source.take"), recording: new TakeSound(h, work) } : null);
  if (!h) chosen.set(-1);
  repaint();
}
workCell.watch(hold);

function forget(): void {
  heardOf.set(null);
  hold();
}

const before = 0.6; // seconds of the piece that are heard ahead of a stroke

/** Brings a stroke onto the bar and plays it: as it was recorded, or as it is computed. */
function hear(stroke: number, what: "take" | "roll"): void {
  show(stroke);
  const sec = secOf(stroke);
  source.set(what);
  void play(Math.max(0, sec - before));
}

function secOf(stroke: number): number {
  const work = workCell.value!;
  const h = heardOf.value!;
  return secAt(work.pianos[h.piano].transport, work.slots.lead[h.slot[stroke]]);
}

function show(stroke: number): void {
  const work = workCell.value;
  const h = current(work);
  if (!work || !h) return;
  chosen.set(stroke);
  pianoCell.set(h.piano);
  seek(secOf(stroke));
  const voice = work.voices[work.slots.voice[h.slot[stroke]]];
  if (voice?.to) reveal(voice.from, voice.to);
  if (matchMedia("(max-width: 899px)").matches) page.set("paper");
  repaint();
}

/** A mark as it stands on the paper: told apart by its shape. */
function Mark({ verdict }: { verdict: number }) {
  return (
    <svg class={`mark mark-${verdict}`} width="16" height="16" viewBox="0 0 16 16" aria-hidden="true">
      {verdict === sounded && <circle cx="8" cy="8" r="3" fill="currentColor" />}
      {verdict === silent && <path d="M3 3l10 10M13 3L3 13" stroke="currentColor" stroke-width="2.4" fill="none" />}
      {verdict === unsure && <path d="M5 5.6a3 3 0 1 1 4.6 2.5C8.4 8.9 8 9.5 8 10.4M8 12.4v1.4" stroke="currentColor" stroke-width="1.9" fill="none" />}
    </svg>
  );
}

function Stroke({ h, work, i }: { h: Heard; work: Work; i: number }) {
  const here = use(chosen) === i;
  const slot = h.slot[i];
  const voice = work.voices[work.slots.voice[slot]];
  const sec = secOf(i);
  return (
    <li class={here ? "stroke stroke-now" : "stroke"}>
      <button type="button" class="link tabular" aria-current={here ? "true" : undefined} onClick={() => show(i)}>
        {clock(Math.max(0, sec), 2)}
      </button>{" "}
      <span class="second tabular">
        {length(work.slots.lead[slot])} {voice && <Swatch voice={voice.index} />} {voice?.name}{" "}
        {t("take.sure", { n: number(100 * h.sure[i]) })}
      </span>
      <span class="row">
        <button type="button" onClick={() => hear(i, "take")} aria-label={t("take.hear.of", { at: clock(sec, 2) })}>
          {t("take.hear")}
        </button>
        <button type="button" onClick={() => hear(i, "roll")} aria-label={t("take.computed.of", { at: clock(sec, 2) })}>
          {t("take.computed")}
        </button>
      </span>
    </li>
  );
}

const mostStrokes = 200;

function Answer({ h, work }: { h: Heard; work: Work }) {
  const on = use(source) === "take";
  const c = h.counts;
  return (
    <>
      <ul class="said">
        {h.said.map((s) => (
          <li key={s}>{s}</li>
        ))}
      </ul>
      <div class="row">
        <button type="button" class="main" aria-pressed={on} onClick={() => (source.set(on ? "roll" : "take"), void play())}>
          {t(on ? "take.play.roll" : "take.play")}
        </button>
        <a class="button" href={`api/take/sound?name=${encodeURIComponent(h.take)}`} download={h.take}>
          {t("take.file")}
        </a>
      </div>
      <h2>{t("take.marks")}</h2>
      <ul class="marks">
        {(["sounded", "silent", "unsure"] as const).map((v, i) => (
          <li key={v}>
            <Mark verdict={i} /> {t(`take.${v}`, { n: number(c[v]) })}
          </li>
        ))}
      </ul>
      {c.beyond > 0 && <p class="second">{tn("take.beyond", c.beyond)}</p>}
      <h2>{t("take.silent.title")}</h2>
      {h.silent.length === 0 && <p class="empty">{t("take.silent.none")}</p>}
      <ul>
        {h.silent.map((k) => (
          <li key={k.pitch} class={`finding finding-${k.dead ? "forbids" : "risks"}`}>
            <p class="finding-title">{k.says}</p>
            <ul class="strokes">
              {k.at.slice(0, mostStrokes).map((i) => (
                <Stroke key={i} h={h} work={work} i={i} />
              ))}
            </ul>
          </li>
        ))}
      </ul>
    </>
  );
}

function Takes({ list }: { list: OtherFile[] }) {
  const off = use(stale);
  const name = use(wanted);
  const where = use(session)?.folder ?? "";
  if (list.length === 0) {
    return (
      <div class="empty">
        <p class="big">{t("take.none")}</p>
        <p>{t("take.none.next", { folder: where })}</p>
        <button type="button" onClick={() => void listOthers()}>
          {t("look.again")}
        </button>
      </div>
    );
  }
  return (
    <>
      <p>{t("take.lead")}</p>
      <ul class="sources">
        {list.map((f) => (
          <li key={f.name} class={f.name === name ? "file file-now" : "file"}>
            <span>
              <strong>{f.name}</strong> <span class="second">{bytes(f.bytes)}</span>
            </span>
            <button type="button" disabled={off} onClick={() => void listen(f.name)} aria-label={t("take.start.of", { name: f.name })}>
              {t("take.start")}
            </button>
          </li>
        ))}
      </ul>
    </>
  );
}

export function Take() {
  const list = use(others).filter((f) => f.kind === "take");
  const work = use(workCell);
  use(heardOf);
  useEffect(() => void listOthers().catch(() => {}), []);
  const h = current(work);
  return (
    <div class="take">
      <Takes list={list} />
      <Progress of={running} what={t("take.progress", { name: wanted.value })} />
      {heardOf.value && !h && <p class="note note-amber">{t("take.old")}</p>}
      {h && work && <Answer h={h} work={work} />}
    </div>
  );
}

// On the paper, which is light in both themes.
const inks = ["#2f5d45", "#a8231a", "#8a5300"];
const marksFrom = 1.1; // pixels a millimetre; farther off, only what did not sound is marked

/** A mark beside the leading edge of every stroke in view. */
export function paintTake(s: Scene): void {
  const h = current(s.work);
  if (!h || h.piano !== s.pianoIndex) return;
  const { ctx, view, piano, work } = s;
  const [low, high] = view.seen;
  const r = Math.max(3, Math.min(7, view.zoom * 1.1));
  ctx.lineCap = "round";
  ctx.textAlign = "center";
  ctx.textBaseline = "middle";
  ctx.font = `700 ${Math.max(12, 2.4 * r)}px ${sans}`;
  // Strokes are in the order of their slots, which are by leading edge.
  let first = 0;
  for (let end = h.slot.length; first < end; ) {
    const mid = (first + end) >>> 1;
    if (work.slots.lead[h.slot[mid]] < low) first = mid + 1;
    else end = mid;
  }
  for (let i = first; i < h.slot.length; i++) {
    const along = work.slots.lead[h.slot[i]];
    if (along > high) break;
    const v = h.verdict[i];
    if (v === sounded && view.zoom < marksFrom) continue;
    const x = view.x(piano.ports[work.slots.port[h.slot[i]]].across);
    const y = view.y(along) + (view.piano.paper.travel === "down" ? r + 3 : -r - 3);
    ctx.fillStyle = ctx.strokeStyle = inks[v];
    ctx.lineWidth = Math.max(2, r / 2.6);
    if (v === sounded) {
      ctx.beginPath();
      ctx.arc(x, y, r / 2, 0, 2 * Math.PI);
      ctx.fill();
    } else if (v === silent) {
      ctx.beginPath();
      ctx.moveTo(x - r, y - r);
      ctx.lineTo(x + r, y + r);
      ctx.moveTo(x + r, y - r);
      ctx.lineTo(x - r, y + r);
      ctx.stroke();
    } else ctx.fillText("?", x, y);
    if (i === chosen.value) {
      ctx.lineWidth = 2.5;
      ctx.beginPath();
      ctx.arc(x, y, 2.4 * r, 0, 2 * Math.PI);
      ctx.stroke();
    }
  }
}

/** For tests. */
export const takeState = { heard: heardOf, chosen, running };
