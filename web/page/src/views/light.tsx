// The light table: a picture of punched paper under the planned holes, what
// differs as a list, and what the reading was not sure of, to be answered.
import { useEffect, useState } from "preact/hooks";
import { ask, getBinary, type OtherFile } from "../api";
import { Cell, use } from "../cell";
import { bytes, clock, length, measure, number } from "../format";
import { Running } from "../jobs";
import { repaint } from "../look/frames";
import { sans } from "../look/canvas";
import { NameLine } from "../panels/folder";
import { toText } from "../panels/to-text";
import type { Scene } from "../paper/holes";
import { secAt } from "../paper/transport";
import { offer, seek, source } from "../sound/player";
import { others, page, piano as pianoCell, say, session, stale, work as workCell } from "../state";
import { listOthers, open, openOther, subject } from "../text/document";
import { instruments } from "../text/language";
import { t, tn } from "../words";
import { after, type Events, type Work } from "../work";
import { Progress } from "./progress";
import { Repair } from "./repair";
import { Tiles, type Picture } from "./tiles";

interface Difference {
  kind: string;
  says: string;
  port: number;
  along: number;
  end: number;
  plan: number[];
  foundLead: number | null;
  foundEnd: number | null;
}
interface Doubt {
  port: number;
  name: string;
  lead: number;
  trail: number;
  sure: number;
  reason: string;
  crop: boolean;
}
interface Light {
  job: string;
  work: string;
  piano: number;
  pictures: Picture[];
  said: string[];
  unlike: string;
  summary: string;
  remarks: string[];
  differences: Difference[];
  more: number;
  doubts: Doubt[];
  moreDoubts: number;
  table: string;
  port: Int32Array;
  lead: Float64Array;
  trail: Float64Array;
  events: Events;
  tiles: Tiles;
}

const running = new Running();
const lightOf = new Cell<Light | null>(null);
/** From the plan alone, 0, over both, 0.5, to the picture alone, 1. */
const fade = new Cell(0.5);
const slide = new Cell<[number, number]>([0, 0]); // millimetres along and across
const outlines = new Cell(true);
/** The difference, or the doubtful slot, that is looked at. */
const looked = new Cell<{ kind: "difference" | "doubt"; n: number } | null>(null);
for (const cell of [fade, slide, outlines, looked]) (cell as Cell<unknown>).watch(repaint);

function current(work: Work | null): Light | null {
  const l = lightOf.value;
  return l && work && l.work === work.id ? l : null;
}

function hold(): void {
  const l = current(workCell.value);
  offer("scan", l ? { label: t("source.scan"), events: l.events } : null);
  if (!l) looked.set(null);
  repaint();
}
workCell.watch(hold);

interface Wish {
  pictures: string[];
  first: string;
  bass: string;
  reader: string;
}

async function lay(wish: Wish): Promise<void> {
  lightOf.set(null);
  hold();
  const piano = pianoCell.value;
  const id = await running.run("light", { ...subject(), piano, ...wish });
  if (!id) return;
  try {
    const { json, arrays } = await getBinary(`light/${id}/all`);
    const scan = (name: string) => arrays[`scan_${name}`] as never;
    const sc = (name: string) => arrays[`sc_${name}`] as never;
    const l = json as unknown as Light;
    lightOf.set({
      ...l,
      job: id,
      port: scan("port"),
      lead: scan("lead"),
      trail: scan("trail"),
      events: { start: sc("start"), end: sc("end"), voice: sc("voice"), note: sc("note"), key: sc("key"), level: sc("level"), piano: sc("piano") },
      tiles: new Tiles(id, l.pictures),
    });
    slide.set([0, 0]);
    hold();
  } catch (e) {
    running.fail(e);
  }
}

function go(l: Light, kind: "difference" | "doubt", n: number): void {
  looked.set({ kind, n });
  const work = workCell.value!;
  pianoCell.set(l.piano);
  const along = kind === "difference" ? l.differences[n].along : l.doubts[n].lead;
  seek(secAt(work.pianos[l.piano].transport, along));
  if (kind === "difference" && matchMedia("(max-width: 899px)").matches) page.set("paper");
}

const sides = ["", "bottom", "top", "left", "right"];

function Side({ label, value, on }: { label: string; value: string; on: (v: string) => void }) {
  return (
    <label>
      {label}{" "}
      <select value={value} onChange={(e) => on((e.target as HTMLSelectElement).value)}>
        {sides.map((s) => (
          <option key={s} value={s}>
            {t(`light.side.${s || "shape"}`)}
          </option>
        ))}
      </select>
    </label>
  );
}

function Pictures({ list }: { list: OtherFile[] }) {
  const off = use(stale);
  const where = use(session)?.folder ?? "";
  const makes = use(instruments);
  const [picked, setPicked] = useState<ReadonlySet<string>>(new Set(list.length === 1 ? [list[0].name] : []));
  const [first, setFirst] = useState("");
  const [bass, setBass] = useState("");
  const [reader, setReader] = useState("");
  if (list.length === 0) {
    return (
      <div class="empty">
        <p class="big">{t("light.none")}</p>
        <p>{t("light.none.next", { folder: where })}</p>
        <button type="button" onClick={() => void listOthers()}>
          {t("look.again")}
        </button>
      </div>
    );
  }
  const chosen = list.map((f) => f.name).filter((n) => picked.has(n));
  return (
    <>
      <p>{t("light.lead")}</p>
      <ul class="sources">
        {list.map((f) => (
          <li key={f.name} class="file">
            <label>
              <input
                type="checkbox"
                checked={picked.has(f.name)}
                onChange={() => {
                  const next = new Set(picked);
                  if (!next.delete(f.name)) next.add(f.name);
                  setPicked(next);
                }}
              />{" "}
              {f.name} <span class="second">{bytes(f.bytes)}</span>
            </label>
          </li>
        ))}
      </ul>
      <details>
        <summary>{t("light.how")}</summary>
        <p class="second">{t("light.how.text")}</p>
        <p class="fields-row">
          <Side label={t("light.first")} value={first} on={setFirst} />
          <Side label={t("light.bass")} value={bass} on={setBass} />
          <label>
            {t("light.reader")}{" "}
            <select value={reader} onChange={(e) => setReader((e.target as HTMLSelectElement).value)}>
              <option value="">{t("light.reader.plan")}</option>
              <option value="auto">{t("light.reader.auto")}</option>
              {makes.map((i) => (
                <option key={i.name} value={i.name}>
                  {i.title || i.name}
                </option>
              ))}
            </select>
          </label>
        </p>
      </details>
      <p>
        <button type="button" class="main" disabled={off || chosen.length === 0} onClick={() => void lay({ pictures: chosen, first, bass, reader })}>
          {t("light.start")}
        </button>
      </p>
    </>
  );
}

function Table({ l }: { l: Light }) {
  const share = use(fade);
  const [along, across] = use(slide);
  const lines = use(outlines);
  const now = use(source);
  return (
    <section>
      <h2>{t("light.table")}</h2>
      <label class="slider">
        <span>{t("light.fade")}</span>
        <input type="range" min="0" max="1" step="0.02" value={share} onInput={(e) => fade.set(Number((e.target as HTMLInputElement).value))} aria-valuetext={t("light.fade.now", { n: number(100 * share) })} />
      </label>
      {(["along", "across"] as const).map((way, i) => (
        <label class="slider" key={way}>
          <span>{t(`light.${way}`, { mm: measure([along, across][i], 1) })}</span>
          <input
            type="range"
            min="-30"
            max="30"
            step="0.1"
            value={[along, across][i]}
            onInput={(e) => {
              const to = Number((e.target as HTMLInputElement).value);
              slide.set(i === 0 ? [to, across] : [along, to]);
            }}
            aria-valuetext={`${measure([along, across][i], 1)} mm`}
          />
        </label>
      ))}
      <p class="row">
        <button type="button" disabled={along === 0 && across === 0} onClick={() => slide.set([0, 0])}>
          {t("light.back")}
        </button>
        <label>
          <input type="checkbox" checked={lines} onChange={() => outlines.update((v) => !v)} /> {t("light.outlines")}
        </label>
      </p>
      <p class="row" role="group" aria-label={t("light.plays")}>
        <span class="second">{t("light.plays")}</span>
        <button type="button" aria-pressed={now === "roll"} onClick={() => source.set("roll")}>
          {t("light.plays.plan")}
        </button>
        <button type="button" aria-pressed={now === "scan"} onClick={() => source.set("scan")}>
          {t("light.plays.scan")}
        </button>
      </p>
      <p class="second">{tn("light.slots", l.lead.length)}</p>
    </section>
  );
}

const listedAtOnce = 150;

function Differences({ l, work }: { l: Light; work: Work }) {
  const now = use(looked);
  const [most, setMost] = useState(listedAtOnce);
  const transport = work.pianos[l.piano].transport;
  if (l.unlike) return <Unlike l={l} />;
  return (
    <section>
      <h2>
        {t("light.differences")} <span class="count">{number(l.differences.length + l.more)}</span>
      </h2>
      <p>{l.summary}</p>
      {l.remarks.map((r) => (
        <p class="note note-amber" key={r}>
          {r}
        </p>
      ))}
      <ul>
        {l.differences.slice(0, most).map((d, i) => {
          const here = now?.kind === "difference" && now.n === i;
          const voice = d.plan.length > 0 ? work.voices[work.slots.voice[d.plan[0]]] : undefined;
          return (
            <li key={i} class={here ? "finding finding-risks finding-now" : "finding finding-risks"}>
              <button type="button" class="finding-go" aria-current={here ? "true" : undefined} onClick={() => go(l, "difference", i)}>
                <span class="finding-title">{t(`light.kind.${d.kind}`)}</span>
                <span class="second tabular">{clock(Math.max(0, secAt(transport, d.along)), 1)}</span>
              </button>
              <p>{d.says}</p>
              {voice && voice.line > 0 && (
                <button type="button" class="link" onClick={() => (go(l, "difference", i), toText(voice.from, voice.to))}>
                  {t("card.line", { n: voice.line })}
                </button>
              )}
            </li>
          );
        })}
      </ul>
      {l.differences.length > most && (
        <button type="button" onClick={() => setMost(most + listedAtOnce)}>
          {t("light.more", { n: number(l.differences.length - most) })}
        </button>
      )}
      {l.more > 0 && <p class="second">{tn("light.beyond", l.more)}</p>}
    </section>
  );
}

/** The paper is of another roll: what was read can be kept, and opened. */
function Unlike({ l }: { l: Light }) {
  const [asking, setAsking] = useState(false);
  const keep = async (to: string) => {
    try {
      const made = await ask<{ name: string }>("light/keep", { id: l.job, to: to.replace(/\.piece$/, "") });
      await listOthers();
      await openOther(made.name, "holes");
      setAsking(false);
    } catch (e) {
      say(e instanceof Error ? e.message : String(e));
    }
  };
  return (
    <section>
      <p class="note note-amber">{l.unlike}</p>
      <p>{t("light.unlike.next")}</p>
      {asking ? (
        <NameLine label={t("light.table.name")} initial={l.table.replace(/\.csv$/, "")} done={(to) => void keep(to)} cancel={() => setAsking(false)} />
      ) : (
        <button type="button" class="main" onClick={() => setAsking(true)}>
          {t("light.keep")}
        </button>
      )}
    </section>
  );
}

const answers = new Cell<{ job: string; of: Map<number, string> }>({ job: "", of: new Map() });

async function answer(l: Light, n: number, is: "is" | "none"): Promise<void> {
  try {
    await ask<{ name: string }>("light/say", { id: l.job, doubt: n, answer: is });
    const of = new Map(answers.value.job === l.job ? answers.value.of : []);
    of.set(n, is);
    answers.set({ job: l.job, of });
    if (n + 1 < l.doubts.length) go(l, "doubt", n + 1);
  } catch (e) {
    say(e instanceof Error ? e.message : String(e));
  }
}

/** One doubtful slot after the other, with two keys. */
function Doubts({ l }: { l: Light }) {
  const now = use(looked);
  const said = use(answers);
  if (l.doubts.length === 0) return null;
  const n = now?.kind === "doubt" ? now.n : 0;
  const d = l.doubts[n];
  const given = said.job === l.job ? said.of : new Map<number, string>();
  const keys: Record<string, () => void> = {
    j: () => void answer(l, n, "is"),
    n: () => void answer(l, n, "none"),
    ArrowRight: () => n + 1 < l.doubts.length && go(l, "doubt", n + 1),
    ArrowLeft: () => n > 0 && go(l, "doubt", n - 1),
  };
  return (
    <section
      class="doubts"
      aria-label={t("light.doubts")}
      onKeyDown={(e) => {
        const act = keys[e.key];
        if (!act || e.ctrlKey || e.metaKey || e.altKey) return;
        e.preventDefault();
        act();
      }}
    >
      <h2>
        {t("light.doubts")} <span class="count">{number(l.doubts.length + l.moreDoubts)}</span>
      </h2>
      <p class="second">{t("light.doubts.text")}</p>
      <div class="doubt" aria-live="polite">
        {d.crop ? <img src={`api/light/${l.job}/crop?n=${n}`} alt={t("light.crop", { name: d.name, at: length(d.lead) })} /> : <p class="second">{t("light.crop.none")}</p>}
        <p>
          <strong>{d.name}</strong> · {length(d.lead)} · {t("take.sure", { n: number(100 * d.sure) })}
        </p>
        <p>{d.reason}</p>
      </div>
      <div class="row">
        <button type="button" aria-pressed={given.get(n) === "is"} onClick={() => void answer(l, n, "is")} aria-keyshortcuts="j">
          {t("light.is")} <kbd>J</kbd>
        </button>
        <button type="button" aria-pressed={given.get(n) === "none"} onClick={() => void answer(l, n, "none")} aria-keyshortcuts="n">
          {t("light.isnone")} <kbd>N</kbd>
        </button>
        <button type="button" disabled={n === 0} onClick={() => go(l, "doubt", n - 1)} aria-label={t("light.doubt.previous")}>
          ‹
        </button>
        <span class="tabular">{t("finding.nth", { n: n + 1, of: l.doubts.length })}</span>
        <button type="button" disabled={n + 1 >= l.doubts.length} onClick={() => go(l, "doubt", n + 1)} aria-label={t("light.doubt.next")}>
          ›
        </button>
      </div>
      {given.size > 0 && <p class="second">{tn("light.answered", given.size)}</p>}
    </section>
  );
}

export function LightView() {
  const list = use(others).filter((f) => f.kind === "picture");
  const work = use(workCell);
  use(lightOf);
  use(open);
  useEffect(() => void listOthers().catch(() => {}), []);
  const l = current(work);
  return (
    <div class="light">
      <Pictures key={list.map((f) => f.name).join("\n")} list={list} />
      <Progress of={running} what={t("tab.light")} />
      {lightOf.value && !l && <p class="note note-amber">{t("light.old")}</p>}
      {l && work && (
        <>
          <Table l={l} />
          <Differences l={l} work={work} />
          {!l.unlike && <Repair job={l.job} piano={work.pianos[l.piano].name} />}
          <Doubts l={l} />
          <details class="reading">
            <summary>{t("light.said")}</summary>
            <ul class="said">
              {l.said.map((s, i) => (
                <li key={i}>{s}</li>
              ))}
            </ul>
          </details>
        </>
      )}
    </div>
  );
}

/** How much of the planned holes is seen, 0 to 1. */
export function planShare(work: Work): number {
  return current(work) ? Math.min(1, 2 * (1 - fade.value)) : 1;
}

/** The picture, below the planned holes. */
export function paintLight(s: Scene): void {
  const l = current(s.work);
  if (!l || l.piano !== s.pianoIndex || fade.value === 0) return;
  const { ctx } = s;
  ctx.save();
  ctx.globalAlpha = Math.min(1, 2 * fade.value);
  l.tiles.paint(ctx, s.view, ...slide.value);
  ctx.restore();
}

// On the paper, which is light in both themes.
const kinds: Record<string, { ink: string; dash: number[] }> = {
  missing: { ink: "#a8231a", dash: [] },
  extra: { ink: "#a8231a", dash: [5, 4] },
};
const usual = { ink: "#8a5300", dash: [2, 3] };

/** What was read, in outline, and what differs, marked. */
export function paintDifferences(s: Scene): void {
  const l = current(s.work);
  if (!l || l.piano !== s.pianoIndex) return;
  const { ctx, view, piano } = s;
  const [low, high] = view.seen;
  const outline = (port: number, from: number, to: number, grow: number) => {
    const d = piano.die * view.zoom + 2 * grow;
    const x = view.x(piano.ports[port]?.across ?? 0);
    const a = view.y(from);
    const b = view.y(to);
    ctx.roundRect(x - d / 2, Math.min(a, b) - grow, d, Math.abs(a - b) + 2 * grow, d / 2);
  };
  if (outlines.value && view.zoom >= 1) {
    ctx.strokeStyle = "#0b6b73";
    ctx.lineWidth = 1.2;
    ctx.beginPath();
    for (let i = Math.max(0, after(l.lead, low) - 200); i < l.lead.length && l.lead[i] <= high; i++) {
      if (l.trail[i] >= low) outline(l.port[i], l.lead[i], l.trail[i], 1);
    }
    ctx.stroke();
  }
  const now = looked.value;
  ctx.font = `600 12px ${sans}`;
  ctx.textAlign = "left";
  ctx.textBaseline = "middle";
  l.differences.forEach((d, i) => {
    if (d.end < low || d.along > high) return;
    const here = now?.kind === "difference" && now.n === i;
    const { ink, dash } = kinds[d.kind] ?? usual;
    ctx.strokeStyle = ctx.fillStyle = ink;
    ctx.lineWidth = here ? 3.5 : 2;
    ctx.setLineDash(dash);
    ctx.beginPath();
    outline(d.port, d.along, Math.max(d.end, d.along), Math.max(4, view.zoom * 0.9));
    ctx.stroke();
    ctx.setLineDash([]);
    const x = view.x(piano.ports[d.port]?.across ?? 0) + Math.max(8, view.zoom * 2.2);
    const words = t(`light.kind.${d.kind}`);
    const y = view.y(d.along);
    ctx.globalAlpha = 0.85;
    ctx.fillStyle = s.look.paper;
    ctx.fillRect(x - 2, y - 8, ctx.measureText(words).width + 4, 16);
    ctx.globalAlpha = 1;
    ctx.fillStyle = ink;
    ctx.fillText(words, x, y);
  });
  if (now?.kind !== "doubt" || !l.doubts[now.n]) return;
  const d = l.doubts[now.n];
  ctx.strokeStyle = usual.ink;
  ctx.lineWidth = 3;
  ctx.beginPath();
  outline(d.port, d.lead, d.trail, Math.max(5, view.zoom));
  ctx.stroke();
}

/** For tests. */
export const lightState = { light: lightOf, fade, slide, looked };
